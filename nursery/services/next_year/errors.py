"""Each rate as planned, as seen and as the next plan takes it, and how many plants the error cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nursery.catalog import SpeciesEntry
from nursery.planning.again import StageRates, cost_of, ready_from
from nursery.planning.heavy import special
from nursery.planning.plan_inputs import RATES
from nursery.services.evidence import kind_label
from nursery.services.next_year.lines import SURVIVAL, SeasonLine
from nursery.services.next_year.reckoning import germination_with, planned_rates, sown_of
from nursery.services.next_year.seen import Seen

#: Rates in the order of growth.
STAGES_OF_RATES = (*RATES, *SURVIVAL)


@dataclass(frozen=True, slots=True)
class Rate:
    """A mean with the range that holds a batch in eight of ten cases; no range where no weight is known."""

    mean: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class RateError:
    """One rate of one species' protocol."""

    species_id: int
    species_key: str
    species_name: str
    protocol: str
    part: str
    rate: str
    planned: Rate
    seen: Seen
    following: Rate
    #: Plants more, or below zero fewer, than planned, if this rate holds for all that the plan sowed; and how
    #: many the plan expected.
    plants: int
    of_plants: int
    #: All seed was sown by a germination test of its own, so that the species' rate of germination cost nothing.
    by_test: bool

    @property
    def label(self) -> str:
        """What the rate is called."""
        return kind_label(self.part, self.rate)

    @property
    def off(self) -> float:
        """How far what was seen is from the plan, as a share 0–1."""
        return self.seen.share - self.planned.mean

    @property
    def is_surprising(self) -> bool:
        """Whether what was seen lies where the plan expected only two batches of ten."""
        low, high = self.planned.low, self.planned.high
        return low is not None and high is not None and not low <= self.seen.share <= high


def find_errors(
    lines: Sequence[SeasonLine], seen: Mapping[tuple[int, str, str], Seen], entries: Mapping[int, SpeciesEntry]
) -> list[RateError]:
    """Every rate of which something was seen, the largest errors in plants first."""
    groups: dict[tuple[int, str, int], list[SeasonLine]] = {}
    for line in lines:
        groups.setdefault((line.species_id, line.protocol, line.plan_id), []).append(line)
    found = [
        _error(some, name, seen[key], entries)
        for some in groups.values()
        for name in STAGES_OF_RATES
        if (key := (some[0].species_id, some[0].part, name)) in seen
    ]
    order = {name: at for at, name in enumerate(STAGES_OF_RATES)}
    return sorted(found, key=lambda one: (-abs(one.plants), one.species_name, order[one.rate], one.protocol))


def _error(lines: Sequence[SeasonLine], name: str, seen: Seen, entries: Mapping[int, SpeciesEntry]) -> RateError:
    first = lines[0]
    base, costs = _costs(lines, name, seen)
    weight = first.rates.weight.get(name)
    return RateError(
        species_id=first.species_id, species_key=first.species_key, species_name=first.species_name,
        protocol=first.protocol, part=first.part, rate=name,
        planned=rate_of(first.rates.mean[name], weight), seen=seen, following=following(first, name, entries),
        plants=round(float(costs.sum())), of_plants=round(float(base.sum())),
        by_test=name == "germination" and all(line.is_tested for line in lines),
    )  # fmt: skip


def _costs(lines: Sequence[SeasonLine], name: str, seen: Seen) -> tuple[np.ndarray, np.ndarray]:
    """Plants that each line was expected to give, and how many more the rate alone makes of them."""
    planned = planned_rates(lines)
    share = np.full(len(lines), seen.share)
    if name == "germination":
        share = germination_with(lines, share.tolist())
    if name in SURVIVAL:
        planned = _with_survival(planned, np.array([line.rates.mean[name] for line in lines]))
        name = "field_survival"
    sown = sown_of(lines)
    base = ready_from(sown, planned.mean)
    if name == "field_survival":
        base = base * (1 - planned.mean["handling_loss"])
    return base, cost_of(name, share, planned, sown)


def _with_survival(rates: StageRates, survival: np.ndarray) -> StageRates:
    return replace(rates, mean={**rates.mean, "field_survival": survival})


def following(line: SeasonLine, name: str, entries: Mapping[int, SpeciesEntry]) -> Rate:
    """A rate of a line's protocol as the next plan takes it."""
    entry = entries.get(line.species_id)
    if entry is None:
        return rate_of(line.rates.mean[name], line.rates.weight.get(name))
    rate = entry.protocol_for(line.protocol, line.method).rates[name]
    return rate_of(rate.mean, rate.weight)


def rate_of(mean: float, weight: float | None) -> Rate:
    """A mean with its range, where its weight is known."""
    if weight is None or not 0 < mean < 1:
        return Rate(mean)
    low, high = special.betaincinv(mean * weight, (1 - mean) * weight, (0.1, 0.9))
    return Rate(mean, float(low), float(high))
