"""Rates that follow from a species' batches, and the species' entry with them in force.

A species without batches costs nothing; the same batches are reckoned once and remembered.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from nursery.catalog import SpeciesEntry, with_learned
from nursery.planning.learning import learn
from nursery.services.learned.batches import EXTRACTION, Batch

#: The catalogue gives an extraction yield without a weight. Its standard deviation is taken to be this share of
#: it, and the prior is worth no less than the least weight that the catalogue gives most rates. Own convention,
#: no source.
YIELD_SPREAD = 0.3
LEAST_YIELD_WEIGHT = 12.0
#: One weighed extraction counts as this many times the trials that the prior is worth: scales hardly err, but one
#: day's fruit is not the next one's. Own convention, no source.
TRIALS_PER_EXTRACTION = 10.0
#: Ranges hold a new batch with this chance.
INTERVAL = 0.8
_YIELD_PATH = "seed.extraction_yield"

#: What a rate needs to know of its batches: part, rate, successes, trials.
Counts = tuple[str, str, float, float]


@dataclass(frozen=True, slots=True)
class LearnedRate:
    """One rate of one protocol (or the extraction yield): the catalogue's prior and what batches made of it."""

    path: str
    protocol: str
    part: str
    rate: str
    prior_mean: float
    prior_weight: float
    mean: float
    weight: float
    low: float
    high: float
    trials: float
    batches: int
    #: Between-batch precision: small where batches differ much.
    precision: float
    #: Of each batch, in order: its own rate shrunk towards the others, and the trials this is worth.
    shrunk: tuple[tuple[float, float], ...]

    @property
    def shift(self) -> float:
        """How far the rate moved, in the standard deviations of the catalogue's."""
        spread = (self.prior_mean * (1 - self.prior_mean) / (self.prior_weight + 1)) ** 0.5
        return (self.mean - self.prior_mean) / spread if spread else 0.0


def counts_of(batches: Sequence[Batch]) -> tuple[Counts, ...]:
    """The batches as the reckoning wants them, ready to be remembered by."""
    return tuple((one.part, one.rate, one.successes, one.trials) for one in batches)


@lru_cache(maxsize=1024)
def learned_rates(entry: SpeciesEntry, counts: tuple[Counts, ...]) -> tuple[LearnedRate, ...]:
    """All rates of a catalogue entry for which there are batches, in the order of the file."""
    seen = {(part, rate) for part, rate, _successes, _trials in counts}
    asked = [prior for prior in _priors(entry) if prior[2:4] in seen]
    group, hits, trials = [], [], []
    for at, (_path, _protocol, part, rate, _mean, weight) in enumerate(asked):
        for batch_part, batch_rate, successes, tried in counts:
            if (batch_part, batch_rate) == (part, rate):
                worth = TRIALS_PER_EXTRACTION * weight if rate == EXTRACTION else tried
                group.append(at)
                hits.append(successes / tried * worth)
                trials.append(worth)
    if not asked:
        return ()
    found = learn([p[4] for p in asked], [p[5] for p in asked], group, hits, trials, interval=INTERVAL)
    shrunk: list[list[tuple[float, float]]] = [[] for _ in asked]
    for at, mean, weight in zip(group, found.batch_mean.tolist(), found.batch_weight.tolist(), strict=True):
        shrunk[at].append((mean, weight))
    return tuple(
        LearnedRate(
            *prior,
            mean=round(float(found.mean[at]), 6),
            weight=round(float(found.weight[at]), 2),
            low=round(float(found.low[at]), 6),
            high=round(float(found.high[at]), 6),
            trials=float(found.trials[at]),
            batches=int(found.batches[at]),
            precision=float(found.batch_precision[at]),
            shrunk=tuple(shrunk[at]),
        )
        for at, prior in enumerate(asked)
    )


def _priors(entry: SpeciesEntry) -> list[tuple[str, str, str, str, float, float]]:
    """Path, protocol, part, rate, mean and weight of everything that can be learned of a species."""
    mean = entry.seed.extraction_yield
    found = [(_YIELD_PATH, "", "seed", EXTRACTION, mean, yield_weight(mean))]
    for protocol in entry.protocols:
        for name, rate in protocol.rates.items():
            path = f"protocols.{protocol.key}.rates.{name}"
            found.append((path, protocol.key, protocol.part, name, rate.mean, rate.weight))
    return found


def yield_weight(mean: float) -> float:
    """Trials that the catalogue's extraction yield is taken to be worth."""
    return max((1 - mean) / mean / YIELD_SPREAD**2 - 1, LEAST_YIELD_WEIGHT)


@lru_cache(maxsize=1024)
def learned_entry(entry: SpeciesEntry, counts: tuple[Counts, ...], own: frozenset[str]) -> SpeciesEntry:
    """The entry with learned rates in force, save those whose mean a person set by hand (``own`` paths)."""
    values: dict[str, tuple[float, float | None, float | None]] = {}
    for rate in learned_rates(entry, counts):
        mean, weight = figure_paths(rate.path)
        if mean not in own:
            values[mean] = (rate.mean, rate.low, rate.high)
            if weight:
                values[weight] = (rate.weight, None, None)
    return with_learned(entry, values)


def figure_paths(path: str) -> tuple[str, str]:
    """Paths of the mean and (where there is one) the weight of a learned rate."""
    return (path, "") if path == _YIELD_PATH else (f"{path}.mean", f"{path}.weight")


def entry_with_batches(
    entry: SpeciesEntry, batches: Sequence[Batch], own: Collection[str] | Mapping[str, object] = ()
) -> SpeciesEntry:
    """The catalogue's entry with what these batches teach; unchanged, the very same, without any."""
    return learned_entry(entry, counts_of(batches), frozenset(own)) if batches else entry
