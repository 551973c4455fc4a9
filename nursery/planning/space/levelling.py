"""Levelling: where benches overflow, sowings are shifted, trays split or moved, or lines named to be dropped.

Objectives, each held while the next is searched: least overflow left, fewest plants dropped (priority 1 first),
least shift (plants × days), fewest things touched, fewest trays moved. Weeks that are not too full are looked at
only once an answer overfills them, so that most of a large plan never enters the search; the answer is still that
of the whole.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.space.choices import Areas, Options, Things
from nursery.planning.space.levelling_model import Model
from nursery.planning.space.levelling_search import Search

#: What one round may take of the time that is left: weeks that an answer overfills need a further round.
ROUND_SHARE = 0.6
#: How far apart the weeks are that a round takes up.
_EVERY = 5


@dataclass(frozen=True)
class Levelled:
    """The answer: trays by option, things dropped, m² by area and week before and after, and what is too little.

    ``gap``: to within which part overflow, losses and shift are known to be the least. ``is_proved`` is false
    where time ran out over them: then a better answer may exist. What comes last, fewest things touched and fewest
    trays moved, is searched for a few seconds and no longer.
    """

    trays: Ints
    dropped: Bools
    before: Floats
    after: Floats
    over_before: Floats
    over_after: Floats
    gap: float
    is_proved: bool

    @property
    def is_needed(self) -> bool:
        """Whether anything overflowed at all."""
        return bool((self.over_before > 0).any())


def level(
    things: Things, options: Options, areas: Areas, *, seconds: float = 60.0,
    clock: Callable[[], float] = time.perf_counter,
) -> Levelled:  # fmt: skip
    """Find the answer in at most about so many seconds.

    Raises
    ------
    ValueError
        Where a thing has not exactly one home option.
    """
    homes = np.bincount(options.thing[options.home], minlength=len(things))
    if np.any(homes != 1):
        raise ValueError("every thing has exactly one option that is home")
    trays = np.where(options.home, things.trays[options.thing], 0)
    dropped = np.zeros(len(things), np.bool_)
    before = after = areas.taken(options, _share(things, options, trays))
    over_before = over_after = areas.over(before)
    looked_at = _peaks(over_before > 0, over_before)
    ends = clock() + seconds
    search: Search | None = None
    is_done = not looked_at.any()
    while not is_done:
        if search is None:
            model = Model(things, options, areas, *np.nonzero(looked_at))
            search = Search(model, clock() + (ends - clock()) * ROUND_SHARE, clock)
        is_done = search.step()
        if search.solution is None:
            break
        trays, dropped = model.read(search.solution)
        after = areas.taken(options, _share(things, options, trays))
        over_after = areas.over(after)
        new = (over_after > 0) & ~looked_at
        if new.any() and clock() < ends:
            looked_at |= _peaks(new, over_after)
            search, is_done = None, False
    gap, is_proved = (0.0, True) if search is None else (search.gap, search.is_proved)
    is_proved = is_proved and not ((over_after > 0) & ~looked_at).any()
    return Levelled(trays, dropped, before, after, over_before, over_after, gap, is_proved)


def _peaks(some: Bools, over: Floats) -> Bools:
    """The fullest week of each stretch, and every fifth besides: the others often fit once these do."""
    begins = some & ~np.concatenate([np.zeros((len(some), 1), np.bool_), some[:, :-1]], axis=1)
    stretch = np.cumsum(begins, axis=1)
    area, week = np.nonzero(some)
    number = area * (some.shape[1] + 1) + stretch[area, week]
    order = np.lexsort([-over[area, week], number])
    first = order[np.unique(number[order], return_index=True)[1]]
    found = np.zeros_like(some)
    found[area[first], week[first]] = True
    begin = np.maximum.accumulate(np.where(begins, np.arange(some.shape[1]), 0), axis=1)
    return np.asarray(found | (some & ((np.arange(some.shape[1]) - begin) % _EVERY == _EVERY // 2)))


def _share(things: Things, options: Options, trays: Ints) -> Floats:
    return np.asarray(trays / np.maximum(things.trays[options.thing], 1))
