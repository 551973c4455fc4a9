"""What the next plan would sow for the same targets: by the rates of today, beside those planned with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from nursery.catalog import SpeciesEntry
from nursery.planning.again import Sowing, StageRates, sowing_for
from nursery.planning.plan_inputs import RATES, Costs
from nursery.services.evidence import kind_label
from nursery.services.next_year.errors import Rate, following, rate_of
from nursery.services.next_year.lines import SeasonLine
from nursery.services.next_year.reckoning import asked_of, planned_rates, rates_today


@dataclass(frozen=True, slots=True)
class Amounts:
    """What targets of one species take in all."""

    ready: int
    seeds: int
    cells: int
    trays: int
    #: Least and most over the lines.
    seeds_per_cell: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Reason:
    """One rate as the plan took it and as the next one will."""

    label: str
    planned: Rate
    following: Rate


@dataclass(frozen=True, slots=True)
class SpeciesChange:
    """One species under the plan's rates and under today's."""

    species_key: str
    species_name: str
    part: str
    targets: int
    before: Amounts
    after: Amounts
    #: The rate that alone changes the seeds most; None where none does.
    because: Reason | None

    @property
    def differs(self) -> bool:
        """Whether a grower would do anything else."""
        return self.before != self.after


def find_changes(
    lines: Sequence[SeasonLine], entries: Mapping[int, SpeciesEntry], costs: Costs
) -> list[SpeciesChange]:
    """Every species of the season, those with the largest change of seed first."""
    if not lines:
        return []
    asked, planned, today = asked_of(lines), planned_rates(lines), rates_today(lines, entries)
    before, after = sowing_for(asked, planned, costs), sowing_for(asked, today, costs)
    # What each rate alone would change.
    alone = {
        name: np.abs(sowing_for(asked, _with(planned, today, name), costs).seeds - before.seeds)
        for name in (*RATES, "field_survival")
    }
    rows: dict[tuple[int, str], list[int]] = {}
    for place, line in enumerate(lines):
        rows.setdefault((line.species_id, line.part), []).append(place)
    found = []
    for places in rows.values():
        first, at = lines[places[0]], np.array(places)
        weighs = {name: int(seeds[at].sum()) for name, seeds in alone.items()}
        most = max(weighs, key=lambda name: weighs[name])
        moved = lines[places[int(alone[most][at].argmax())]]
        found.append(
            SpeciesChange(
                species_key=first.species_key,
                species_name=first.species_name,
                part=first.part,
                targets=len(places),
                before=_amounts(before, at),
                after=_amounts(after, at),
                because=_reason(moved, most, entries) if weighs[most] else None,
            )
        )
    return sorted(found, key=lambda one: (not one.differs, -_turn(one), one.species_name))


def _with(planned: StageRates, today: StageRates, name: str) -> StageRates:
    moved = (name, "reference") if name == "germination" else (name,)
    mean = {**planned.mean, **{each: today.mean[each] for each in moved}}
    return StageRates(mean, {**planned.weight, **({name: today.weight[name]} if name in today.weight else {})})


def _reason(line: SeasonLine, name: str, entries: Mapping[int, SpeciesEntry]) -> Reason:
    own = f"field_survival_{line.survival_year}" if name == "field_survival" else name
    return Reason(
        kind_label(line.part, own),
        rate_of(line.rates.mean[own], line.rates.weight.get(own)),
        following(line, own, entries),
    )


def _turn(change: SpeciesChange) -> float:
    return abs(change.after.seeds - change.before.seeds) / max(change.before.seeds, 1)


def _amounts(sowing: Sowing, at: np.ndarray) -> Amounts:
    per_cell = sowing.seeds_per_cell[at]
    return Amounts(
        ready=int(sowing.ready[at].sum()),
        seeds=int(sowing.seeds[at].sum()),
        cells=int(sowing.cells[at].sum()),
        trays=int(sowing.trays[at].sum()),
        seeds_per_cell=(int(per_cell.min()), int(per_cell.max())),
    )
