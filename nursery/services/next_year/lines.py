"""The plan lines by which a season was sown, with the rates that their plan was frozen with."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import exists, func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Draw, Plan, PlanLine, Species
from nursery.planning.plan_inputs import RATES, Costs
from nursery.planning.words import Method

#: Years after planting of which a plan knows the survival.
SURVIVAL = {"field_survival_1": 1, "field_survival_3": 3}
#: Where no plan tells; as `planning.gather` takes them.
USUAL_COSTS = Costs(0.02, 0.02, 0.15)


@dataclass(frozen=True, slots=True)
class FrozenRates:
    """Rates of one protocol as a plan was reckoned with: mean and weight by name; a survival has no weight."""

    mean: Mapping[str, float]
    weight: Mapping[str, float]
    #: Seeds per cell by the protocol, 0 where it leaves them open.
    usual: int


@dataclass(frozen=True, slots=True)
class SeasonLine:
    """One target of the season as it was planned."""

    line_id: int
    species_id: int
    species_key: str
    species_name: str
    protocol: str
    method: Method
    plan_id: int
    #: The day the plan was reckoned from: what was seen later it could not know.
    as_of: dt.date
    wanted: int
    plants_to_plant: int
    ready_plants: int
    seeds: int
    cells_sown: int
    seeds_per_cell: int
    survival_year: int
    #: Of the seed on the day of sowing, and of the lot by which the seeds per cell were chosen.
    germination: float
    reference: float
    assurance: float
    cells_per_tray: int
    spare_trays: int
    is_pinned: bool
    #: Sown by the germination of its own lot's test, not by the species' rate.
    is_tested: bool
    rates: FrozenRates

    @property
    def part(self) -> str:
        """What was sown."""
        return "cuttings" if self.method is Method.CUTTINGS else "seed"


@dataclass(frozen=True)
class SeasonPlan:
    """Lines of one season, the plans they come from, and the costs by which those chose seeds per cell."""

    lines: Sequence[SeasonLine]
    #: Label and day of each plan by id.
    plans: Mapping[int, tuple[str, dt.date]]
    costs: Costs


def seasons_planned(session: Session) -> list[int]:
    """Seasons of which a plan asked to sow something."""
    rows = session.scalars(select(PlanLine.season).where(PlanLine.seeds > 0).distinct().order_by(PlanLine.season))
    return list(rows)


def read_lines(session: Session, season: int) -> SeasonPlan:
    """Of each target the line it was sown by, else that of the plan adopted last, else the newest."""
    chosen = _chosen(session, season)
    if not chosen:
        return SeasonPlan([], {}, USUAL_COSTS)
    plan_ids = set(chosen.values())
    frozen = {
        row.id: row
        for row in session.execute(
            select(
                Plan.id, Plan.label, Plan.as_of, Plan.inputs["protocols"].as_json().label("protocols"),
                Plan.inputs["costs"].as_json().label("costs"),
                Plan.inputs["lots", "lot_id"].as_json().label("lots"),
                Plan.inputs["lots", "is_tested"].as_json().label("tested"),
            ).where(Plan.id.in_(plan_ids))
        )
    }  # fmt: skip
    rates = {plan_id: _frozen_rates(row.protocols) for plan_id, row in frozen.items()}
    tested = {
        plan_id: {lot for lot, is_tested in zip(row.lots or (), row.tested or (), strict=False) if is_tested}
        for plan_id, row in frozen.items()
    }
    first_lots = _first_lots(session, chosen)
    rows = session.execute(_columns().where(PlanLine.id.in_(chosen))).all()
    lines = [
        _line(row, frozen[row.plan_id].as_of, own, is_tested=first_lots.get(row.id) in tested[row.plan_id])
        for row in rows
        if (own := rates[row.plan_id].get((row.species_id, row.protocol))) is not None
    ]
    newest = frozen[max(plan_ids)]
    costs = Costs(**newest.costs) if newest.costs else USUAL_COSTS
    return SeasonPlan(lines, {key: (row.label, row.as_of) for key, row in frozen.items()}, costs)


def _chosen(session: Session, season: int) -> dict[int, int]:
    """Plan by id of each line chosen."""
    rows = session.execute(
        select(
            PlanLine.id, PlanLine.target_id, PlanLine.plan_id, Plan.adopted_at.is_not(None).label("was_adopted"),
            exists().where(Batch.line_id == PlanLine.id).label("is_sown"),
        )
        .join(PlanLine.plan)
        .where(PlanLine.season == season, PlanLine.seeds > 0)
    )  # fmt: skip
    best: dict[int, Any] = {}
    for row in rows:
        before = best.get(row.target_id)
        if before is None or _rank(row) > _rank(before):
            best[row.target_id] = row
    return {row.id: row.plan_id for row in best.values()}


def _first_lots(session: Session, line_ids: Collection[int]) -> dict[int, int]:
    """The lot each line draws from first: by its test the line's sowing was reckoned."""
    first = select(func.min(Draw.id)).where(Draw.line_id.in_(line_ids)).group_by(Draw.line_id)
    return {
        row.line_id: row.lot_id
        for row in session.execute(select(Draw.line_id, Draw.lot_id).where(Draw.id.in_(first)))
    }


def _rank(row: Any) -> tuple[bool, bool, int]:
    return bool(row.is_sown), bool(row.was_adopted), row.plan_id


def _columns() -> Any:
    return (
        select(
            PlanLine.id, PlanLine.plan_id, PlanLine.species_id, Species.key, Species.scientific_name,
            PlanLine.protocol, PlanLine.method, PlanLine.wanted, PlanLine.plants_to_plant,
            PlanLine.ready_plants, PlanLine.seeds,
            PlanLine.cells_sown, PlanLine.seeds_per_cell, PlanLine.basis,
        )
        .join(Species, Species.id == PlanLine.species_id)
        .order_by(Species.scientific_name, PlanLine.id)
    )  # fmt: skip


def _line(row: Any, as_of: dt.date, rates: FrozenRates, *, is_tested: bool) -> SeasonLine:
    basis = row.basis
    return SeasonLine(
        line_id=row.id, species_id=row.species_id, species_key=row.key, species_name=row.scientific_name,
        protocol=row.protocol,
        method=row.method, plan_id=row.plan_id, as_of=as_of, wanted=row.wanted,
        plants_to_plant=row.plants_to_plant, ready_plants=row.ready_plants, seeds=row.seeds,
        cells_sown=row.cells_sown, seeds_per_cell=row.seeds_per_cell or 0,
        survival_year=int(basis.get("survival_year") or 0),
        reference=float(basis.get("germination_reference") or rates.mean["germination"]),
        germination=float(basis.get("germination_sown") or rates.mean["germination"]),
        assurance=float(basis["assurance"]), cells_per_tray=int(basis.get("cells_per_tray") or 0),
        spare_trays=int(basis.get("spare_trays") or 0), is_pinned=bool(basis.get("seeds_per_cell_pinned")),
        is_tested=is_tested, rates=rates,
    )  # fmt: skip


#: Columns of protocols that a plan must have kept.
_KEPT = {"species_id", "key", "seeds_per_cell"} | {
    *(f"{name}_mean" for name in (*RATES, *SURVIVAL)), *(f"{name}_weight" for name in RATES),
}  # fmt: skip


def _frozen_rates(table: Mapping[str, Sequence[Any]] | None) -> dict[tuple[int, str], FrozenRates]:
    """By species id and protocol, from the columns that `planning.fingerprint` keeps; none of an older plan that
    kept others."""
    if table is None or not set(table) >= _KEPT:
        return {}
    found: dict[tuple[int, str], FrozenRates] = {}
    for at, key in enumerate(zip(table["species_id"], table["key"], strict=True)):
        mean = {name: float(table[f"{name}_mean"][at]) for name in (*RATES, *SURVIVAL)}
        weight = {name: float(table[f"{name}_weight"][at]) for name in RATES}
        found[key] = FrozenRates(mean, weight, int(table["seeds_per_cell"][at]))
    return found
