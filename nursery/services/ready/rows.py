"""What the stock of a season is made of: plants of one batch and size, and what one target asks for."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from nursery.planning.growing.words import Stage


@dataclass(frozen=True, slots=True)
class Origin:
    """Where the seed of a batch comes from; of a batch merged from several lots all places together."""

    populations: tuple[str, ...] = ()
    regions: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """Places and regions as a person reads them; empty where no lot is known."""
        places, regions = " + ".join(self.populations), ", ".join(self.regions)
        return f"{places} ({regions})" if regions else places


@dataclass(frozen=True, slots=True)
class Stock:
    """Plants of one batch and one size grade. What is expected is allocated, held back or free."""

    batch_id: int
    code: str
    species_id: int
    species_name: str
    container_name: str
    #: Empty where it was not graded yet.
    grade: str
    origin: Origin
    nursery_name: str
    #: The site it was sown for; None for plants that anyone may have.
    site_id: int | None
    site_name: str
    stage: Stage
    ready_on: dt.date | None
    #: Standing ready today, and expected to be ready in all, those among them; in eight of ten cases from ``low``
    #: to ``high``.
    ready: int
    expected: int
    low: int
    high: int
    #: Of the expected: promised to a target or asked for by a planned load; shut off; and what is left.
    allocated: int
    held: int
    #: For another site than its own, by planned loads: ``(site name, plants)``.
    lent: tuple[tuple[str, int], ...] = ()

    @property
    def free(self) -> int:
        """Plants that nobody was promised."""
        return self.expected - self.allocated - self.held

    @property
    def free_now(self) -> int:
        """Of these, those that stand ready."""
        return min(self.free, self.ready)


@dataclass(frozen=True, slots=True)
class Want:
    """What one target asks for, in ready plants: ``wanted`` is sent, covered, still to be sown or short."""

    target_id: int
    species_id: int
    species_name: str
    site_id: int
    site_name: str
    nursery_name: str
    container_name: str
    wanted: int
    sent: int
    #: Plants of batches set aside for it.
    covered: int
    to_sow: int
    opens_on: dt.date
    closes_on: dt.date

    @property
    def short(self) -> int:
        """Plants that nothing sown or planned will give."""
        return max(self.wanted - self.sent - self.covered - self.to_sow, 0)


@dataclass(frozen=True, slots=True)
class Numbers:
    """Sums over stock and wants. ``low`` and ``high`` are reckoned by `ranged`."""

    wanted: int = 0
    sent: int = 0
    ready: int = 0
    expected: int = 0
    low: int = 0
    high: int = 0
    allocated: int = 0
    held: int = 0
    free: int = 0
    free_now: int = 0
    to_sow: int = 0
    short: int = 0


#: The fields that add up whatever is grouped.
ADDED = tuple(name for name in Numbers.__dataclass_fields__ if name not in {"low", "high"})


def sum_up(stock: Iterable[Stock], wants: Iterable[Want]) -> Numbers:
    """All of it together."""
    plants, asked = list(stock), list(wants)
    low, high = ranged(plants)
    return Numbers(
        wanted=sum(one.wanted for one in asked),
        sent=sum(one.sent for one in asked),
        ready=sum(one.ready for one in plants),
        expected=sum(one.expected for one in plants),
        low=low,
        high=high,
        allocated=sum(one.allocated for one in plants),
        held=sum(one.held for one in plants),
        free=sum(one.free for one in plants),
        free_now=sum(one.free_now for one in plants),
        to_sow=sum(one.to_sow for one in asked),
        short=sum(one.short for one in asked),
    )


def ranged(stock: Sequence[Stock]) -> tuple[int, int]:
    """The 10–90 % range of a sum, in whole plants: within a species ranges add, between species their distances
    from the expected number add as squares (`services.stock` says why)."""
    sums: defaultdict[int, list[int]] = defaultdict(lambda: [0, 0, 0])
    for one in stock:
        for at, plants in enumerate((one.expected, one.low, one.high)):
            sums[one.species_id][at] += plants
    expected = sum(each[0] for each in sums.values())
    below = math.sqrt(sum((each[0] - each[1]) ** 2 for each in sums.values()))
    above = math.sqrt(sum((each[2] - each[0]) ** 2 for each in sums.values()))
    return max(round(expected - below), 0), round(expected + above)


def apportion(plants: int, weights: Mapping[str, int]) -> dict[str, int]:
    """Whole plants shared out in proportion to the weights; the largest remainders get those left over."""
    whole = sum(weights.values())
    if not whole:
        return dict.fromkeys(weights, 0)
    found = {name: plants * weight // whole for name, weight in weights.items()}
    left = plants - sum(found.values())
    first = sorted(weights, key=lambda name: (-(plants * weights[name] % whole), name))
    for name in first[:left]:
        found[name] += 1
    return found
