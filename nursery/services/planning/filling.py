"""Which seed would fill a line that is short: known populations, what they may give, and the permits for it."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import CollectionNeed, Plan, PlanLine
from nursery.planning.plan_needs import LEAST_MOTHERS
from nursery.planning.quantities import grams_of_seeds
from nursery.planning.rounding import whole
from nursery.services.needs import Sheet, read_sheets
from nursery.services.permits.words import weight
from nursery.services.programme.allotting import Allotting
from nursery.services.programme.picks import Pick
from nursery.services.programme.reading import read_permission

#: Codes of what holds a line that speak of no seed of the right origin.
_FROM_ELSEWHERE = {"region", "basin"}


@dataclass(frozen=True, slots=True)
class Part:
    """What one population would give; ``amount`` in mg of clean seed, or in cuttings."""

    population_id: int
    population_name: str
    amount: int
    mothers: int
    is_cuttings: bool
    #: Empty where no permit covers it; ``reason`` says why.
    permit: str
    reason: str

    @property
    def text(self) -> str:
        """Amount, population and permit."""
        told = (
            ngettext("%(num)s cutting", "%(num)s cuttings", self.amount)
            if self.is_cuttings
            else weight(self.amount)
        )
        if not self.permit:
            return _(
                "%(amount)s from population %(population)s (no permit covers it yet)",
                amount=told, population=self.population_name,
            )  # fmt: skip
        return _(
            "%(amount)s from population %(population)s under permit %(permit)s",
            amount=told, population=self.population_name, permit=self.permit,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fill:
    """The seed that would fill a line, collected by ``until``; none of it where no population is known."""

    line: PlanLine
    parts: Sequence[Part]
    until: dt.date
    #: Share 0–1 of what is missing that the known populations cannot give.
    lacking: float
    is_over: bool

    @property
    def can_be_tried(self) -> bool:
        """Whether there is seed to try."""
        return bool(self.parts) and not self.is_over

    @property
    def sentence(self) -> str:
        """What is in hand, and what would fill the line."""
        lead, until = self._lead, format_date(self.until)
        if self.is_over:
            return _("%(lead)s; the season for collecting it ended on %(day)s.", lead=lead, day=until)
        if not self.parts:
            return _(
                "%(lead)s, and no population is known that could give it: one must be found by %(day)s.",
                lead=lead, day=until,
            )  # fmt: skip
        *first, last = [part.text for part in self.parts]
        parts = _("%(first)s and %(last)s", first=", ".join(first), last=last) if first else last
        if self.lacking:
            return _(
                "%(lead)s; %(parts)s, collected by %(day)s, would give all but %(lacking)s of it. For the rest"
                " another population must be found.",
                lead=lead, parts=parts, day=until, lacking=format_percent(self.lacking),
            )  # fmt: skip
        return _("%(lead)s; %(parts)s, collected by %(day)s, would fill it.", lead=lead, parts=parts, day=until)

    @property
    def _lead(self) -> str:
        line = self.line
        found = {(one["code"], one["text"] if one["code"] == "rule" else "") for one in line.bottleneck or ()}
        elsewhere = {("no-lot", "")} | {("rule", rule) for rule in _FROM_ELSEWHERE}
        if found and found <= elsewhere and line.mix is None:
            if line.basis["region_code"]:
                return _(
                    "No lot of this species from region %(region)s is in hand", region=line.basis["region_code"]
                )
            return _("No lot of this species from basin %(basin)s is in hand", basin=line.basis["basin"])
        return ngettext(
            "The seed in hand leaves %(num)s of %(all)s plants lacking",
            "The seed in hand leaves %(num)s of %(all)s plants lacking",
            line.shortfall, all=format_number(line.plants_to_plant),
        )  # fmt: skip


def read_fills(session: Session, plan: Plan, lines: Collection[PlanLine], *, today: dt.date) -> dict[int, Fill]:
    """What would fill each line that waits for seed, by its id; in a fixed number of queries.

    Lines are promised seed in the order of their seasons: what one was promised of a stand or a permit, the others
    of its species lack. So all lines of a species are looked at, whichever are asked for.
    """
    asked = {line.id for line in lines if line.need_id is not None}
    species = {line.species_id for line in lines if line.id in asked}
    if not asked:
        return {}
    waiting = session.scalars(
        select(PlanLine)
        .join(PlanLine.need)
        .where(PlanLine.plan_id == plan.id, PlanLine.species_id.in_(species))
        .order_by(CollectionNeed.closes_on, CollectionNeed.id, PlanLine.id)
    ).all()
    sheets = read_sheets(session, plan, {line.need_id for line in waiting if line.need_id is not None})
    permission = read_permission(session, list(sheets.values()), today=today)
    allotting: defaultdict[int, Allotting] = defaultdict(lambda: Allotting(permission))
    found = {}
    for line in waiting:
        sheet = _of_line(sheets[line.need_id or 0], line)
        is_over = sheet.need.closes_on < today
        given = None if is_over else allotting[line.species_id].need(sheet)
        lacking = 1.0 if given is None or not sheet.wanted else given.lacking / sheet.wanted
        parts = [] if given is None else _parts(sheet, given.picks)
        found[line.id] = Fill(line, parts, sheet.need.closes_on, lacking, is_over)
    return {line_id: fill for line_id, fill in found.items() if line_id in asked}


def _of_line(sheet: Sheet, line: PlanLine) -> Sheet:
    """The sheet of a need as if it were for one line: its amount, rounded up to what a person weighs or counts."""
    need, missing = sheet.need, line.seeds_missing + _to_round_trays(line)
    if need.grams is None:
        seeds, grams = _round_up(missing), None
        part = seeds / max(need.seeds, 1)
    else:
        exact = float(grams_of_seeds(missing, line.basis["tsw_g"], line.basis["purity"]))
        grams = _round_up(exact * 1000) / 1000
        part = grams / need.grams if need.grams else 1.0
        seeds = math.ceil(missing * grams / exact) if exact else missing
    alone = CollectionNeed(
        id=need.id, plan_id=need.plan_id, species_id=need.species_id, species_name=need.species_name,
        region_code=need.region_code, basin=need.basin, opens_on=need.opens_on, closes_on=need.closes_on,
        seeds=seeds, grams=grams, fruit_kg=None if need.fruit_kg is None else need.fruit_kg * part,
        mothers=max(int(whole(need.mothers * part)), LEAST_MOTHERS), plants=line.shortfall,
    )  # fmt: skip
    return replace(sheet, need=alone)


def _to_round_trays(line: PlanLine) -> int:
    """Seeds for a tray more where new seed is sown beside that of lots: each fills whole cells of its own."""
    cells: int = line.cells_sown - line.basis["cells_from_lots"]
    if line.mix is None or cells <= 0:
        return 0
    per_tray: int = line.basis["cells_per_tray"]
    return math.ceil(line.seeds_missing / cells * max(per_tray, 1))


def _round_up(amount: float) -> int:
    """To two figures, so that what is said is enough."""
    if amount < 1:
        return 1
    step: int = 10 ** max(math.floor(math.log10(amount)) - 1, 0)
    return int(math.ceil(amount / step - 1e-9) * step)


def _parts(sheet: Sheet, picks: Sequence[Pick]) -> list[Part]:
    """What populations give, in clean seed; a visit for the mothers alone is none."""
    clean = 1.0 if sheet.is_cuttings else (sheet.need.grams or 0.0) * 1000 / sheet.wanted if sheet.wanted else 0.0
    by_place: dict[tuple[int, str], Part] = {}
    for pick in picks:
        for amount, permit in ((pick.covered, pick.permit), (pick.uncovered, None)):
            if (pieces := round(amount * clean)) < 1:
                continue
            number = permit.number if permit is not None else ""
            key = pick.stand.population_id, number
            one = by_place.get(key)
            by_place[key] = Part(
                pick.stand.population_id, pick.stand.name, pieces + (one.amount if one else 0),
                pick.mothers + (one.mothers if one else 0), sheet.is_cuttings, number,
                "" if permit is not None else pick.reason,
            )  # fmt: skip
    return list(by_place.values())
