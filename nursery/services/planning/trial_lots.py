"""Seed that nobody has collected yet, added to what a plan is reckoned from to see what it does; never stored."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Population
from nursery.models.decisions import DecisionKind
from nursery.models.lots import Material
from nursery.planning.heavy import pd
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_origin import DECISION_COLUMNS
from nursery.services.origin.gathering import read_populations


@dataclass(frozen=True, slots=True)
class TrialLot:
    """Seed of one population."""

    population_id: int
    #: Clean seed, mg, or cuttings.
    amount: int
    collected_on: dt.date
    #: Plants to collect from; a bound on its effective mothers.
    mothers: int
    is_cuttings: bool = False


def trial_ids(trial: Sequence[TrialLot]) -> list[int]:
    """Ids that no lot has: below zero, in the order of the trial."""
    return [-number for number in range(1, len(trial) + 1)]


def with_trial_lots(session: Session, lots: pd.DataFrame, trial: Sequence[TrialLot]) -> pd.DataFrame:
    """A plan's table of lots with those of a trial below; what nobody has measured is left to the species."""
    if not trial:
        return lots
    places = select(Population.id, Population.species_id).where(
        Population.id.in_({one.population_id for one in trial})
    )
    species = {row.id: row.species_id for row in session.execute(places)}
    rows = [
        _row(lots, number, one, species[one.population_id])
        for number, one in zip(trial_ids(trial), trial, strict=True)
    ]
    return pd.DataFrame([*lots.to_dict("records"), *rows], columns=lots.columns)


def _row(lots: pd.DataFrame, number: int, one: TrialLot, species_id: int) -> dict[str, Any]:
    return {
        **dict.fromkeys(lots.columns),
        "lot_id": number,
        "lot_code": "",
        "species_id": species_id,
        "material": Material.CUTTINGS if one.is_cuttings else Material.SEED,
        "amount_mg": None if one.is_cuttings else one.amount,
        "pieces": one.amount if one.is_cuttings else None,
        "collected_on": one.collected_on,
    }


def with_trial_origins(session: Session, lots: pd.DataFrame, trial: Sequence[TrialLot]) -> pd.DataFrame:
    """The lots as the rules of origin take them, with those of a trial below."""
    if not trial:
        return lots
    places = read_populations(session, Population.id.in_({one.population_id for one in trial}))
    found = places.set_index("population_id", drop=False).loc[[one.population_id for one in trial]]
    made = found.reset_index(drop=True).assign(
        lot_id=trial_ids(trial),
        is_held=False,
        effective_mothers=np.nan,
        largest_family=np.nan,
        most_mothers=[float(one.mothers) for one in trial],
    )
    rows = [*lots.to_dict("records"), *made.reindex(columns=lots.columns).to_dict("records")]
    joined = pd.DataFrame(rows, columns=lots.columns)
    # Without lots in hand nothing tells that a column holds numbers.
    numbers = [name for name in joined.columns if pd.api.types.is_numeric_dtype(lots[name])]
    return joined.astype({name: np.float64 for name in numbers if name not in {"lot_id", "population_id"}})


def with_pins(inputs: PlanInputs, line: int, pins: Mapping[int, float]) -> PlanInputs:
    """The inputs with lots pinned to one line, as if a person had decided it: ready plants by lot id.

    The trial's own seed is for that line's site alone.
    """
    origin, target = inputs.origin, inputs.lines.iloc[line]
    decisions = origin.decisions
    after = int(decisions["decision_id"].max()) if len(decisions) else 0
    made = [
        {
            "decision_id": after + number,
            "kind": DecisionKind.PIN.value,
            "lot_id": lot_id,
            "site_id": int(target["site_id"]),
            "target_id": int(target["target_id"]),
            "plants": plants,
        }
        for number, (lot_id, plants) in enumerate(pins.items(), 1)
    ]
    elsewhere = [site for site in origin.sites["site_id"].tolist() if site != int(target["site_id"])]
    kept = [
        {"decision_id": after + len(pins) + number, "kind": DecisionKind.FORBID.value, "lot_id": lot_id,
         "site_id": site, "target_id": 0, "plants": np.nan}
        for number, (lot_id, site) in enumerate(((lot, site) for lot in pins if lot < 0 for site in elsewhere), 1)
    ]  # fmt: skip
    made += kept
    table = pd.DataFrame([*decisions.to_dict("records"), *made], columns=list(DECISION_COLUMNS))
    return replace(inputs, origin=replace(origin, decisions=table))
