"""Lot-to-lot spread around the catalogue's figures, by a generator seeded with the lot's own name."""

from __future__ import annotations

from random import Random

from nursery.catalog import SpeciesEntry
from nursery.catalog.entries import Rate

#: Standard deviation of a lot's thousand-seed weight, as a share of the mean; common practice, no source.
_WEIGHT_SPREAD = 0.08


def chance_of(lot: str) -> Random:
    """A generator that gives the same numbers for the same lot on any day and machine."""
    return Random(f"demo lot {lot}")  # noqa: S311 -- spread for an example, no secret


def purity(entry: SpeciesEntry, chance: Random) -> float:
    """Purity between the catalogue's bounds, most often near its figure."""
    figure = entry.figure("seed.purity")
    low = figure.number if figure.low is None else figure.low
    high = figure.number if figure.high is None else figure.high
    return round(chance.triangular(low, high, figure.number), 3)


def thousand_seed_weight(entry: SpeciesEntry, chance: Random) -> float:
    """Thousand-seed weight in g, kept within the range of the sources."""
    figure = entry.figure("seed.thousand_seed_weight_g")
    weight = figure.number * chance.gauss(1.0, _WEIGHT_SPREAD)
    low = 0.75 * figure.number if figure.low is None else max(figure.low, 0.75 * figure.number)
    high = 1.25 * figure.number if figure.high is None else min(figure.high, 1.25 * figure.number)
    return float(f"{min(max(weight, low), high):.4g}")


def germination(rate: Rate, chance: Random) -> float:
    """A lot's germination, drawn from the catalogue's distribution."""
    return round(chance.betavariate(rate.mean * rate.weight, (1 - rate.mean) * rate.weight), 2)


def moisture(bounds: list[float], chance: Random) -> float:
    """Moisture content in % of fresh weight."""
    return round(chance.uniform(*bounds), 1)
