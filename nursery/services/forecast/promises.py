"""Targets of the growing seasons: what is promised, what their batches will give, and since when it is short."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import PlanLine, Preferences, Site, Species, Target
from nursery.models.plans import LineStatus
from nursery.planning.plan_growing import CLOSE
from nursery.services.forecast.gathering import Known, know
from nursery.services.forecast.reading import BatchForecast, forecasts_of
from nursery.services.forecast.story import Asked, Point, stories
from nursery.services.planning.plans import current_plan
from nursery.services.seasons import window_days

#: What a target has beyond its promise is to spare from so many plants, and this part of the promise, on. Own
#: convention, no source: fewer are not worth a move.
LEAST_SPARE, LEAST_SPARE_SHARE = 10, 0.05


class Standing(StrEnum):
    """How a target stands."""

    SHORT = "short"
    DOUBTFUL = "doubtful"
    ENOUGH = "enough"
    SPARE = "spare"
    #: Its planting time has passed and it has nothing to spare: nobody waits for its plants any more.
    OVER = "over"


#: Shortages first, what is over last.
ORDER = tuple(Standing)


@dataclass(frozen=True, slots=True)
class TargetForecast:
    """One target: promised against forecast. Plants are ready plants, those sent out among them."""

    target_id: int
    site_id: int
    site_name: str
    species_id: int
    species_key: str
    species_name: str
    season: int
    #: Asked of batches and plants sent out; ``pending`` of what the plan in force still has to sow.
    promised: int
    pending: int
    dispatched: int
    assurance: float
    standing: Standing
    #: Points in order of time, the last one today's.
    points: Sequence[Point]
    #: The point since which it has not been enough: all but surely where it falls short; None where it is enough.
    shown_by: Point | None
    #: The point since which it was doubtful, where that is an earlier one.
    doubted_by: Point | None
    #: The last of its batches, those with plants left.
    ready_on: dt.date | None
    line: PlanLine | None
    batches: Sequence[tuple[str, BatchForecast]]
    #: The last day on which it can be planted: as the plan in force has it, else by the site's window.
    closes_on: dt.date

    @property
    def now(self) -> Point:
        """What is known today."""
        return self.points[-1]

    @property
    def lacking(self) -> int:
        """Ready plants by which what can be counted on misses the promise."""
        return max(self.promised - self.now.secured, 0) if self.is_short else 0

    @property
    def spare(self) -> int:
        """Ready plants that can be counted on beyond the promise."""
        return max(self.now.secured - self.promised, 0)

    @property
    def is_short(self) -> bool:
        """Whether something must be done."""
        return self.standing in {Standing.SHORT, Standing.DOUBTFUL}


@dataclass(frozen=True)
class Forecasts:
    """Targets, shortages first; and the batches that nobody has been promised, by species."""

    targets: Sequence[TargetForecast]
    free: Mapping[int, Sequence[tuple[str, BatchForecast]]]
    known: Known

    def target(self, target_id: int) -> TargetForecast | None:
        """One of them."""
        return next((one for one in self.targets if one.target_id == target_id), None)


def read_forecasts(
    session: Session, *, today: dt.date, species_id: int | None = None, told: Collection[int] = ()
) -> Forecasts:
    """Every target with batches, or with plants sent out; a fixed number of queries.

    ``told`` are targets whose forecast is told count by count; those that fall short always are.
    """
    known = know(session, species_id=species_id)
    if not known.batches:
        return Forecasts([], {}, known)
    forecasts = forecasts_of(known, today)
    rows: defaultdict[int, list[int]] = defaultdict(list)
    sent: defaultdict[int, int] = defaultdict(int)
    free: defaultdict[int, list[tuple[str, BatchForecast]]] = defaultdict(list)
    for at, batch in enumerate(known.batches):
        if batch.target_id is not None:
            rows[batch.target_id].append(at)
        elif forecasts[batch.id].expected > 0:
            free[batch.species_id].append((batch.code, forecasts[batch.id]))
        for _day, target_id, plants in known.dispatched.get(batch.id, ()):
            if target_id is not None:
                sent[target_id] += plants
    wanted = set(rows) | set(sent)
    lines = _lines(session, wanted)
    asked_for = _assurance(session)
    found = session.execute(_targets().where(Target.id.in_(wanted), Target.archived_at.is_(None))).all()
    asked, pending = {}, {}
    for row in found:
        line = lines.get(row.id)
        batches = [known.batches[at] for at in rows[row.id]]
        pending[row.id] = pending_of(line, batches)
        in_all = line.ready_plants if line else row.plants or 0
        promised = max(in_all - pending[row.id], 0)
        asked[row.id] = Asked(promised, row.assurance or asked_for, max(sent[row.id], 0))
    points = _points(known, {row.id: rows[row.id] for row in found}, asked, set(told), today)
    targets = [
        _target(row, asked[row.id], pending[row.id], points[row.id], lines.get(row.id),
                [(known.batches[at].code, forecasts[known.batches[at].id]) for at in rows[row.id]], today)
        for row in found
    ]  # fmt: skip
    targets.sort(key=lambda one: (ORDER.index(one.standing), one.now.chance, one.season, one.site_name))
    return Forecasts(targets, free, known)


def _points(
    known: Known, groups: Mapping[int, Sequence[int]], asked: Mapping[int, Asked], told: set[int], today: dt.date
) -> dict[int, list[Point]]:
    """Today's point of every target, and all of those that are short or asked for."""
    found = stories(known, groups, asked, today, whole=False)
    whole = {
        key: rows for key, rows in groups.items() if key in told or not _is_enough(found[key][-1], asked[key])
    }
    return found | stories(known, whole, asked, today)


def _target(
    row: Any, asked: Asked, pending: int, points: Sequence[Point], line: PlanLine | None,
    batches: Sequence[tuple[str, BatchForecast]], today: dt.date,
) -> TargetForecast:  # fmt: skip
    now, closes_on = points[-1], _closes_on(row, line)
    doubted = _since(points, lambda point: not _is_enough(point, asked))
    shown = _since(points, lambda point: point.p90 < asked.promised) or doubted
    days = [one.ready_on for _code, one in batches if one.ready_on is not None and one.expected > 0]
    return TargetForecast(
        target_id=row.id, site_id=row.site_id, site_name=row.site_name, species_id=row.species_id,
        species_key=row.key, species_name=row.scientific_name, season=row.season, promised=asked.promised,
        pending=pending, dispatched=asked.sent, assurance=asked.assurance,
        standing=_standing(now, asked, is_over=closes_on < today),
        points=points, shown_by=shown,
        doubted_by=doubted if doubted != shown else None, ready_on=max(days, default=None), line=line,
        batches=batches, closes_on=closes_on,
    )  # fmt: skip


def _closes_on(row: Any, line: PlanLine | None) -> dt.date:
    if line is not None and (window := line.basis.get("window")):
        return dt.date.fromisoformat(window[1])
    southern = row.latitude < 0
    return window_days(row.season, row.window_opens, row.window_closes, southern=southern)[1]


def _standing(point: Point, asked: Asked, *, is_over: bool) -> Standing:
    spare = point.secured - asked.promised
    can_spare = spare >= max(LEAST_SPARE, LEAST_SPARE_SHARE * asked.promised)
    if is_over:
        return Standing.SPARE if can_spare else Standing.OVER
    if point.p90 < asked.promised:
        return Standing.SHORT
    if not _is_enough(point, asked):
        return Standing.DOUBTFUL
    return Standing.SPARE if can_spare else Standing.ENOUGH


def _is_enough(point: Point, asked: Asked) -> bool:
    return point.chance >= asked.assurance - CLOSE


def _since(points: Sequence[Point], is_so: Callable[[Point], bool]) -> Point | None:
    """The earliest point from which something has been so until today; None where it is not so."""
    first = None
    for point in reversed(points):
        if not is_so(point):
            break
        first = point
    return first


def pending_of(line: PlanLine | None, batches: Sequence[Any]) -> int:
    """Ready plants that the plan in force still has to sow: those it asked for, less what was sown since.

    What can no longer be sown, or has no seed, is not pending: it is missing. A batch that was growing already
    when the plan was made, and came from another target since, is no sowing of the plan.
    """
    if line is None or not line.seeds or line.status is LineStatus.LATE:
        return 0
    growing = line.growing or {}
    known = {int(each["batch_id"]) for each in growing.get("batches", ())}
    asked = max(line.ready_plants - int(growing.get("secured", 0)), 0)
    sown: int = sum(
        batch.seeds for batch in batches
        if batch.id not in known and not batch.archived_at
        and (batch.line_id == line.id or batch.sown_on >= line.plan.as_of)
    )  # fmt: skip
    can_be = line.seeds if line.status is not LineStatus.SHORT else line.seeds - line.seeds_missing
    return round(asked * max(can_be - sown, 0) / line.seeds)


def _targets() -> Any:
    return (
        select(
            Target.id, Target.site_id, Target.species_id, Target.season, Target.plants, Target.assurance,
            Site.name.label("site_name"), Site.latitude, Site.window_opens, Site.window_closes,
            Species.key, Species.scientific_name,
        )
        .join(Target.site).join(Target.species)
    )  # fmt: skip


def _lines(session: Session, target_ids: Collection[int]) -> dict[int, PlanLine]:
    plan = current_plan(session)
    if plan is None:
        return {}
    query = select(PlanLine).where(PlanLine.plan_id == plan.id, PlanLine.target_id.in_(target_ids))
    return {line.target_id: line for line in session.scalars(query)}


def _assurance(session: Session) -> float:
    preferences = session.get(Preferences, 1)
    return preferences.assurance if preferences else 0.8
