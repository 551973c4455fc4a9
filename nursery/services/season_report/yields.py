"""What the nursery made of its seed: rates of the season's batches, and plants for a kilogram of seed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Count, Evidence, Movement
from nursery.models.movements import Measure, MovementKind
from nursery.services.costing.carriers import Carrier
from nursery.services.season_report.scope import Scope

#: Rates as counts of batches teach them; the last one is a loss.
RATES = ("emergence", "establishment", "hardening", "cull")


@dataclass
class Yield:
    """One species, or all together."""

    batches: int = 0
    seeds: int = 0
    #: Seeds of known viability, and how many of them lived.
    judged: int = 0
    viable: float = 0.0
    #: Successes and trials by rate.
    rates: dict[str, tuple[float, float]] = field(default_factory=lambda: dict.fromkeys(RATES, (0.0, 0.0)))
    #: Seed drawn in grams, and the plants grown of it, of batches whose seed was weighed out.
    grams: float = 0.0
    plants_of_grams: float = 0.0

    def add(self, other: Yield) -> None:
        """Take another species in."""
        for name in ("batches", "seeds", "judged", "viable", "grams", "plants_of_grams"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for name, (hits, tried) in other.rates.items():
            before = self.rates[name]
            self.rates[name] = (before[0] + hits, before[1] + tried)

    def rate(self, name: str) -> float | None:
        """Successes among trials; None where nothing was counted."""
        hits, tried = self.rates[name]
        return hits / tried if tried else None

    @property
    def viability(self) -> float | None:
        """Of the seed on the day of sowing."""
        return self.viable / self.judged if self.judged else None

    @property
    def plants_per_kg(self) -> float | None:
        """Plants grown for a kilogram of clean seed."""
        return self.plants_of_grams / self.grams * 1000 if self.grams else None


def read_yields(session: Session, scope: Scope, carriers: Sequence[Carrier]) -> dict[int, Yield]:
    """By species, in three queries."""
    found: defaultdict[int, Yield] = defaultdict(Yield)
    weighed = _weighed(session)
    grown: defaultdict[int, float] = defaultdict(float)
    for one in carriers:
        if one.batch_id is not None:
            grown[one.batch_id] += one.actual.grown
    for batch in scope.batches.values():
        own = found[batch.species_id]
        own.batches += 1
        own.seeds += batch.seeds
        if batch.viability is not None:
            own.judged += batch.seeds
            own.viable += batch.seeds * batch.viability
        if grams := weighed.get(batch.seed_act, 0.0) if batch.seed_act else 0.0:
            own.grams += grams
            own.plants_of_grams += grown[batch.id]
    for species_id, rate, hits, tried in _taught(session, scope):
        before = found[species_id].rates[rate]
        found[species_id].rates[rate] = (before[0] + hits, before[1] + tried)
    return dict(found)


def _weighed(session: Session) -> dict[str, float]:
    """Grams of seed that left the lots, by the mark of the act."""
    undone = select(Movement.reverses_id).where(Movement.reverses_id.is_not(None))
    rows = session.execute(
        select(Movement.act, -func.sum(Movement.change))
        .where(
            Movement.kind == MovementKind.WITHDRAWN, Movement.measure == Measure.SEED,
            Movement.id.not_in(undone),
        )
        .group_by(Movement.act)
    )  # fmt: skip
    return {act: milligrams / 1000 for act, milligrams in rows}


def _taught(session: Session, scope: Scope) -> list[tuple[int, str, float, float]]:
    """What counts of the season's batches taught the rates: the very trials that the species' pages show."""
    counts = session.execute(select(Count.id, Count.batch_id).where(Count.withdrawn_at.is_(None)))
    # As ``services.batches.teaching.source_of`` names them.
    sources = {
        f"{scope.batches[batch_id].code} #{count_id}": scope.batches[batch_id].species_id
        for count_id, batch_id in counts
        if batch_id in scope.batches
    }
    rows = session.execute(
        select(Evidence.source, Evidence.rate, Evidence.successes, Evidence.trials).where(
            Evidence.withdrawn_at.is_(None), Evidence.rate.in_(RATES), Evidence.source != ""
        )
    )
    return [(sources[source], rate, hits, tried) for source, rate, hits, tried in rows if source in sources]
