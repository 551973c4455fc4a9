"""What a slip costs the season, in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.models import Task
from nursery.planning.work.slips import Cost, Season
from nursery.planning.work.words import Job


@dataclass(frozen=True, slots=True)
class Slip:
    """Tasks that moved, and what that does to planting; ``season`` is None where no planting waits for them."""

    moved: int
    season: Season | None
    text: str

    @property
    def tone(self) -> str:
        """How it is shown."""
        cost = self.season.cost if self.season is not None else Cost.NOTHING
        return {Cost.NOTHING: "ok", Cost.IN_WINDOW: "info"}.get(cost, "stop")


def tell_slip(tasks: Iterable[Task], before: Mapping[int, dt.date], after: Mapping[int, dt.date]) -> Slip:
    """What became of tasks whose days were ``before`` and are ``after``, by id."""
    everyone = list(tasks)
    moved = sum(before[task.id] != after[task.id] for task in everyone)
    planting = next((task for task in everyone if task.job is Job.DISPATCH), None)
    if planting is None:
        return Slip(moved, None, "")
    sowings = [task for task in everyone if task.job is Job.SOW and task.details.get("sow_latest")]
    late = [
        (after[task.id], dt.date.fromisoformat(task.details["sow_latest"]))
        for task in sowings if after[task.id] > before[task.id]
    ]  # fmt: skip
    sowing = max(late, key=lambda days: days[0] - days[1], default=(None, None))
    season = Season(before[planting.id], after[planting.id], planting.latest_on, *sowing)
    return Slip(moved, season, _sentence(planting, season))


def _sentence(planting: Task, season: Season) -> str:
    before, after = format_date(season.planting_before), format_date(season.planting_after)
    if season.cost is Cost.PLANTING_LATE:
        return _(
            "Planting would be on %(after)s, past the last day %(last)s: %(plants)s plants of %(species)s for"
            " %(site)s would be late.",
            after=after, last=format_date(season.closes), plants=format_number(planting.amount),
            species=planting.details.get("species", ""), site=planting.details.get("site", ""),
        )  # fmt: skip
    if season.planting_after < season.planting_before:
        return _("Planting is back on %(day)s.", day=after)
    told = (
        _("Planting stays on %(day)s.", day=before)
        if season.cost is Cost.NOTHING
        else _(
            "This moves planting from %(before)s to %(after)s, still in the window.", before=before, after=after
        )
    )
    if season.cost is not Cost.SOWING_LATE:
        return told
    out = _(
        "The sowing would fall on %(day)s, after its last month; its last day is %(last)s.",
        day=format_date(season.sowing_after), last=format_date(season.sowing_latest),
    )  # fmt: skip
    return f"{out} {told}"
