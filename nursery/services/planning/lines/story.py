"""What to do for a line, first things first: collect, pretreat, sow, grow, plant, each with its days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from nursery.catalog import Phase
from nursery.catalog.cautions import caution_text
from nursery.catalog.vocabulary import PRETREATMENT_PHASES, phase_label
from nursery.i18n import format_date, format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models.plans import LineStatus
from nursery.planning.origin.words import NeedPurpose
from nursery.services.need_words import origin_text
from nursery.services.planning.lines.reading import LineView

#: More lots than this are counted, not named.
NAMED_LOTS = 4

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
    #: Whether the plants are there without it.
    is_optional: bool = False

    def moment(self, today: dt.date) -> Moment:
        """Where the step lies, seen from ``today``."""
        return "over" if self.end < today else "ahead" if self.start > today else "now"


def tell_line(view: LineView) -> tuple[Step, ...]:
    """All steps in order of time."""
    line = view.line
    if (line.growing or {}).get("covered"):
        # Sown already: its phases are those that its batches have before them.
        return (*_collect(view), *_phases(view, line.phases, "growth"), _planting(view))
    before = [phase for phase in line.phases if phase["name"] in PRETREATMENT_PHASES]
    after = [phase for phase in line.phases if phase["name"] not in PRETREATMENT_PHASES]
    work = [*_phases(view, before, "pretreatment"), _sowing(view)]
    # The first work says what to fetch.
    work[0] = replace(work[0], facts=(*work[0].facts, *_to_fetch(view, repeated=len(work) == 1)))
    return (*_collect(view), *work, *_phases(view, after, "growth"), _planting(view))


def first_step(view: LineView, steps: Sequence[Step], today: dt.date) -> Step | None:
    """What is to be done next; nothing for a line that cannot be worked, or whose work is over."""
    line = view.line
    if line.status == LineStatus.LATE or (line.status == LineStatus.SHORT and not view.seeds_in_hand):
        return None
    return next((step for step in steps if step.moment(today) != "over" and not step.is_optional), None)


def _collect(view: LineView) -> Iterator[Step]:
    for part in view.need_parts:
        need = part.need
        facts = [pieces(view, part.seeds), origin_text(need)]
        if not view.is_cuttings:
            facts.insert(1, _grams(view.grams_of(part.seeds)))
        title = _("Take cuttings") if view.is_cuttings else _("Collect seed")
        for_shares = need.purpose is NeedPurpose.SHARES
        if for_shares:
            title = _("Take cuttings for the shares") if view.is_cuttings else _("Collect seed for the shares")
            facts.append(_("not needed for the number of plants"))
        yield Step("collect", title, need.opens_on, need.closes_on, tuple(facts), is_optional=for_shares)


def _sowing(view: LineView) -> Step:
    line = view.line
    partly = line.status == LineStatus.SHORT
    facts = [_in_hand(view) if partly else pieces(view, line.seeds)]
    if line.grams is not None:
        facts.append(_grams(view.grams_in_hand if partly else line.grams))
    if partly and not view.is_bed:
        filled = format_number(line.basis["cells_from_lots"])
        facts.append(_("%(filled)s of %(cells)s cells", filled=filled, cells=format_number(line.cells_sown)))
    elif line.trays:
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


def _in_hand(view: LineView) -> str:
    """Seed that is short: what there is, of what is needed."""
    return _(
        "%(held)s of %(needed)s", held=format_number(view.seeds_in_hand), needed=pieces(view, view.line.seeds)
    )


def _grams(grams: float) -> str:
    return _("%(grams)s g", grams=format_number(grams, 1))


def _to_fetch(view: LineView, *, repeated: bool) -> Iterator[str]:
    """Amount and lots; the amount is left out where the step tells it already."""
    if not view.draws:
        return
    if not repeated:
        yield pieces(view, view.seeds_in_hand)
        if not view.is_cuttings:
            yield _grams(view.grams_in_hand)
    codes = [lot.draw.lot_code for lot in view.draws]
    yield (
        _("from %(lots)s", lots=", ".join(codes))
        if len(codes) <= NAMED_LOTS
        else ngettext("from %(num)s lot", "from %(num)s lots", len(codes))
    )


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
