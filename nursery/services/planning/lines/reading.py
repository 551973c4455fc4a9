"""One line with all that its page tells: plan, target, lots, what is to be collected, the species' protocol."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session, contains_eager, joinedload

from nursery.catalog import Phase, Protocol, SpeciesEntry
from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import (
    Decision,
    Draw,
    Lot,
    NeedPart,
    Plan,
    PlanLine,
    Population,
    RuleSet,
    RuleVersion,
    Target,
)
from nursery.planning.origin.words import NeedPurpose
from nursery.planning.quantities import grams_of_seeds
from nursery.services.catalogue import effective_entries
from nursery.services.needs import plants_first
from nursery.services.origin.words import note_text, reason_sentence
from nursery.services.planning.words import is_way_out, sentence


@dataclass(frozen=True)
class LotDraw:
    """Seed of one lot promised to the line, with where it came from."""

    draw: Draw
    population_id: int
    population_name: str
    collected_on: dt.date
    #: The lot's own germination test; empty where the catalogue's germination was taken.
    tested_on: dt.date | None
    tested: float | None
    #: The version of the rules it was judged by, as its set's name and its first day; empty in older plans.
    rules: str
    rules_from: dt.date | None
    rule_set_id: int | None
    #: What a person decided, which the draw follows.
    decision: Decision | None

    @property
    def reasons(self) -> list[str]:
        """Why the rules caution or stop, as sentences, and what the strategy made of it."""
        return [
            " ".join(filter(None, (reason_sentence(reason) + ".", note_text(reason))))
            for reason in self.draw.reasons or ()
        ]


@dataclass(frozen=True)
class LineView:
    """A line of a frozen plan, and the records as they are now."""

    line: PlanLine
    plan: Plan
    target: Target
    draws: tuple[LotDraw, ...]
    #: What of which need is for it: plants that lack first, then what its shares alone lack.
    need_parts: tuple[NeedPart, ...]
    #: None where the catalogue no longer has the species.
    entry: SpeciesEntry | None

    @property
    def protocol(self) -> Protocol | None:
        """The protocol of the line, if the catalogue still has it."""
        protocols = self.entry.protocols if self.entry else ()
        return next((one for one in protocols if one.key == self.line.protocol), None)

    @property
    def is_cuttings(self) -> bool:
        """Whether pieces are cuttings, which have no weight."""
        return self.line.method == "cuttings"

    @property
    def is_bed(self) -> bool:
        """Whether the plants grow in a nursery bed, without cells or trays."""
        return self.line.method == "bareroot"

    @property
    def seeds_in_hand(self) -> int:
        """Seeds (or cuttings) that lots give."""
        return self.line.seeds - self.line.seeds_missing

    @property
    def grams_in_hand(self) -> float:
        """Clean seed that lots give, by each lot's own weight and purity."""
        return sum(lot.draw.milligrams or 0 for lot in self.draws) / 1000

    @property
    def grams_missing(self) -> float:
        """Clean seed still missing, by the species' figures; 0 for cuttings."""
        return self.grams_of(self.line.seeds_missing)

    def grams_of(self, seeds: int) -> float:
        """Clean seed still to be collected that holds so many seeds; 0 for cuttings."""
        basis = self.line.basis
        return float(grams_of_seeds(seeds, basis["tsw_g"], basis["purity"]))

    @property
    def faults(self) -> list[str]:
        """What is wrong or must be known, as sentences."""
        return [sentence(problem, self.entry) for problem in self.line.problems if not is_way_out(problem)]

    @property
    def ways_out(self) -> list[str]:
        """What a person can do about it, as sentences."""
        return [sentence(problem, self.entry) for problem in self.line.problems if is_way_out(problem)]

    def parts(self, *, for_shares: bool) -> list[NeedPart]:
        """What of needs is for the number of plants, or for the shares alone."""
        return [part for part in self.need_parts if (part.need.purpose is NeedPurpose.SHARES) is for_shares]

    def phase(self, key: str) -> Phase | None:
        """The protocol's phase of that key, for its temperature and caution."""
        phases = self.protocol.phases if self.protocol else ()
        return next((phase for phase in phases if phase.key == key), None)

    def source_of(self, figure: str) -> str:
        """The works that a figure of the catalogue is cited from, by their short names; nothing for none."""
        if self.entry is None or figure not in self.entry.figure_table:
            return ""
        return "; ".join(self.entry.figure(figure).sources)


def read_line(session: Session, line_id: int) -> LineView:
    """One line, or ``NotFound``; a fixed number of queries."""
    found = session.execute(
        select(PlanLine, Plan).join(Plan, PlanLine.plan_id == Plan.id).where(PlanLine.id == line_id)
    ).one_or_none()
    if found is None:
        raise NotFound(_("There is no such plan line."))
    line, plan = found
    parts = session.scalars(
        select(NeedPart)
        .join(NeedPart.need)
        .where(NeedPart.line_id == line.id)
        .options(contains_eager(NeedPart.need))
        .order_by(*plants_first())
    )
    target = session.get_one(Target, line.target_id, options=[joinedload(Target.site), joinedload(Target.species)])
    entries = effective_entries(session, {line.species_id})
    return LineView(line, plan, target, _draws(session, line), tuple(parts), entries.get(line.species_id))


def _draws(session: Session, line: PlanLine) -> tuple[LotDraw, ...]:
    rows: Iterable[Any] = session.execute(
        select(
            Draw, Population.id, Population.name, Lot.collected_on, Lot.tested_on, Lot.germination,
            func.coalesce(RuleSet.name, ""), RuleVersion.valid_from, RuleSet.id, Decision,
        )
        .join(Lot, Draw.lot_id == Lot.id)
        .join(Population, Lot.population_id == Population.id)
        .outerjoin(RuleVersion, Draw.rule_version_id == RuleVersion.id)
        .outerjoin(RuleSet, RuleVersion.rule_set_id == RuleSet.id)
        .outerjoin(Decision, Draw.decision_id == Decision.id)
        .where(Draw.line_id == line.id)
        .order_by(Draw.id)
    )  # fmt: skip
    return tuple(LotDraw(*row) for row in rows)
