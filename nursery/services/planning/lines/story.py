"""What to do for a line, first things first: collect, pretreat, sow, grow, plant, each with its days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from nursery.catalog import Phase
from nursery.catalog.cautions import caution_text
from nursery.catalog.vocabulary import PRETREATMENT_PHASES, phase_label
from nursery.i18n import format_date, format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models.plans import LineStatus
from nursery.services.planning.lines.reading import LineView

Moment = Literal["over", "now", "ahead"]


@dataclass(frozen=True)
class Step:
    """One thing to do or to wait for, from ``start`` to ``end``."""

    kind: Literal["collect", "pretreatment", "sow", "growth", "plant"]
    title: str
    start: dt.date
    end: dt.date
    facts: tuple[str, ...] = ()
    caution: str = ""

    def moment(self, today: dt.date) -> Moment:
        """Where the step lies, seen from ``today``."""
        return "over" if self.end < today else "ahead" if self.start > today else "now"


def tell_line(view: LineView) -> tuple[Step, ...]:
    """All steps in order of time."""
    line = view.line
    before = [phase for phase in line.phases if phase["name"] in PRETREATMENT_PHASES]
    after = [phase for phase in line.phases if phase["name"] not in PRETREATMENT_PHASES]
    steps = [
        *_collect(view),
        *_phases(view, before, "pretreatment"),
        _sowing(view),
        *_phases(view, after, "growth"),
    ]
    return (*steps, _planting(view))


def first_step(view: LineView, steps: Sequence[Step], today: dt.date) -> Step | None:
    """What is to be done next; nothing for a line that cannot be worked, or whose work is over."""
    line = view.line
    if line.status == LineStatus.LATE or (line.status == LineStatus.SHORT and not view.seeds_in_hand):
        return None
    return next((step for step in steps if step.moment(today) != "over"), None)


def _collect(view: LineView) -> Iterator[Step]:
    need, line = view.need, view.line
    if need is None:
        return
    yield Step(
        "collect",
        _("Take cuttings") if view.is_cuttings else _("Collect seed"),
        need.opens_on,
        need.closes_on,
        (pieces(view, line.seeds_missing), need.region_code or need.basin),
    )


def _sowing(view: LineView) -> Step:
    line = view.line
    facts = [pieces(view, line.seeds)]
    if line.grams is not None:
        facts.append(_("%(grams)s g", grams=format_number(line.grams, 1)))
    if line.trays:
        facts.append(
            ngettext(
                "%(num)s tray of %(container)s",
                "%(num)s trays of %(container)s",
                line.trays,
                container=line.container_name,
            )
        )
    if line.seeds_per_cell and not view.is_bed:
        facts.append(
            ngettext("%(num)s cutting a cell", "%(num)s cuttings a cell", line.seeds_per_cell)
            if view.is_cuttings
            else ngettext("%(num)s seed a cell", "%(num)s seeds a cell", line.seeds_per_cell)
        )
    if line.nursery_name:
        facts.append(line.nursery_name)
    title = _("Stick the cuttings") if view.is_cuttings else _("Sow")
    return Step("sow", title, line.sow_on, line.sow_on, tuple(facts))


def _planting(view: LineView) -> Step:
    line = view.line
    opens, closes = (dt.date.fromisoformat(day) for day in line.basis["window"])
    facts = [
        ngettext("%(num)s plant", "%(num)s plants", line.plants_to_plant),
        line.site_name,
        _("window %(first)s to %(last)s", first=format_date(opens), last=format_date(closes)),
    ]
    if line.ready_on < line.plant_on:
        facts.append(_("could be ready on %(day)s", day=format_date(line.ready_on)))
    return Step("plant", _("Plant out"), line.plant_on, line.plant_on, tuple(facts))


def _phases(
    view: LineView, phases: Sequence[dict[str, Any]], kind: Literal["pretreatment", "growth"]
) -> Iterator[Step]:
    for phase in phases:
        start, end = (dt.date.fromisoformat(phase[edge]) for edge in ("start", "end"))
        known = view.phase(phase["name"])
        caution = caution_text(known.caution) if known and known.caution else ""
        yield Step(kind, phase_label(phase["name"]), start, end, tuple(_facts(phase, start, end, known)), caution)


def _facts(phase: dict[str, Any], start: dt.date, end: dt.date, known: Phase | None) -> Iterator[str]:
    yield ngettext("%(num)s day", "%(num)s days", (end - start).days)
    if known and known.temperature_c is not None:
        yield _("at %(degrees)s °C", degrees=format_number(known.temperature_c, 1))
    if phase["wait_days"]:
        yield ngettext("%(num)s day of it to spare", "%(num)s days of it to spare", phase["wait_days"])


def pieces(view: LineView, number: int) -> str:
    """A number of seeds or of cuttings."""
    if view.is_cuttings:
        return ngettext("%(num)s cutting", "%(num)s cuttings", number)
    return ngettext("%(num)s seed", "%(num)s seeds", number)
