"""How costs go along when part of a batch becomes another batch."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Leaving:
    """Plants that left one batch for another on one day, and what it held just before."""

    day: dt.date
    other: int
    plants: int
    before: int
    is_merger: bool = False


def passed_on(batch: int, day: dt.date | None, leaving: Mapping[int, Sequence[Leaving]]) -> dict[int, float]:
    """Where a cost that a batch had on a day ends up: shares by batch that add up to 1.

    Each split (or merger) after that day takes along the share of the plants that leave with it. Seed and trays
    have no day: a split shares them out by itself, and mergers alone take their cost along. ``leaving`` is in the
    order of time; plants only ever go to batches that came to be by it, so there is no going round.
    """
    found: defaultdict[int, float] = defaultdict(float)
    open_ends = [(batch, day, 1.0)]
    while open_ends:
        at, since, share = open_ends.pop()
        for one in leaving.get(at, ()):
            if (one.is_merger if since is None else one.day >= since) and one.before > 0:
                gone = share * min(one.plants / one.before, 1.0)
                open_ends.append((one.other, since and one.day, gone))
                share -= gone
        found[at] += share
    return {key: share for key, share in found.items() if share > 0}
