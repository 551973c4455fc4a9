"""What may be done where benches overflow: things, their options, and the areas that have room."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.space.occupancy import DUST


@dataclass(frozen=True)
class Things:
    """Plan lines still to sow and batches that stand: trays, plants, priority 1–5 (0: may not be dropped)."""

    trays: Ints
    plants: Ints
    priority: Ints

    def __len__(self) -> int:
        """Number of things."""
        return len(self.trays)


@dataclass(frozen=True)
class Options:
    """Ways in which things may stand, one row each; every thing has one that is ``home``, where nothing changes.

    Options of one thing with equal ``days`` (of planting later; below 0 earlier) are places among which its trays
    may be split. ``use`` is the bench in m², (options, weeks), that the thing takes with all its trays.
    """

    thing: Ints
    days: Ints
    place: Ints
    home: Bools
    use: Floats

    def __len__(self) -> int:
        """Number of options."""
        return len(self.thing)

    def groups(self) -> Ints:
        """Number of the pair of thing and day that each option belongs to."""
        pairs = np.stack([self.thing, self.days], axis=1)
        return np.unique(pairs, axis=0, return_inverse=True)[1].ravel().astype(np.int64)


@dataclass(frozen=True)
class Areas:
    """Benches and whole nurseries. What stands at a place takes of every area that the place is a ``member`` of.

    ``member`` is (places, areas); ``room`` in m², NaN where it is not known; ``standing`` (areas, weeks) is what
    stands there and cannot be changed.
    """

    member: Bools
    room: Floats
    standing: Floats

    def taken(self, options: Options, share: Floats) -> Floats:
        """m² by area and week, where each option has a share of its thing's trays."""
        by_place = np.zeros((len(self.member), options.use.shape[1]))
        some = np.flatnonzero(share)
        np.add.at(by_place, options.place[some], options.use[some] * share[some, None])
        return np.asarray(self.standing + self.member.T.astype(np.float64) @ by_place)

    def over(self, taken: Floats) -> Floats:
        """m² too little by area and week."""
        missing = taken - self.room[:, None]
        return np.where(np.isnan(missing) | (missing <= DUST), 0.0, missing)
