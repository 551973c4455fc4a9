"""The rows and costs of levelling, for those weeks of those areas that a search looks at."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.heavy import sparse
from nursery.planning.space.choices import Areas, Options, Things
from nursery.planning.space.occupancy import DUST


@dataclass(frozen=True)
class Model:
    """Columns: x of each group of options, y (trays) of options that share one, d (dropped), m (moved), s (over).

    Only things that stand at home in one of the weeks looked at are in it: all others have nothing to gain.
    """

    things: Things
    options: Options
    areas: Areas
    #: Areas and weeks that are looked at, as pairs.
    area: Ints
    week: Ints

    @cached_property
    def load(self) -> sparse.csr_array:
        """m² that each option takes of each pair, (options, pairs)."""
        inside = self.areas.member[self.options.place][:, self.area]
        return sparse.csr_array(np.where(inside, self.options.use[:, self.week], 0.0))

    @cached_property
    def looked_at(self) -> Ints:
        """Options of the things that stand at home in one of the pairs, without those that can be no better.

        Of a thing that has but one place, an option that loads every pair as another does is not worth a longer
        shift, nor is one that loads every pair at least as home does.
        """
        options = self.options
        touched = np.diff(self.load.indptr) > 0
        concerned = np.zeros(len(self.things), np.bool_)
        concerned[options.thing[touched & options.home]] = True
        found = np.flatnonzero(concerned[options.thing])
        places = np.zeros(len(self.things), np.int64)
        np.add.at(places, options.thing[options.days == 0], 1)
        alone = places[options.thing[found]] == 1
        return np.sort(np.concatenate([found[~alone], self._useful(found[alone])]))

    def _useful(self, found: Ints) -> Ints:
        """Those of some options that differ from all with a shorter shift, and are somewhere lighter than home."""
        options = self.options
        home = np.zeros(len(self.things), np.int64)
        home[options.thing[options.home]] = np.flatnonzero(options.home)
        load = self.load[found].toarray()
        lighter = (load < self.load[home[options.thing[found]]].toarray() - DUST).any(axis=1)
        kept = lighter | options.home[found]
        found, load = found[kept], load[kept]
        if not found.size:
            return found
        order = np.lexsort([np.abs(options.days[found]), *np.round(load, 6).T, options.thing[found]])
        same = np.zeros(len(found), np.bool_)
        same[1:] = options.thing[found[order]][1:] == options.thing[found[order]][:-1]
        same[1:] &= (np.abs(np.diff(load[order], axis=0)) <= DUST).all(axis=1)
        return np.asarray(found[order[~same | options.home[found[order]]]])

    @cached_property
    def group(self) -> Ints:
        """Number of the group of each option looked at, 0 first."""
        return np.unique(self.options.groups()[self.looked_at], return_inverse=True)[1].astype(np.int64)

    @cached_property
    def first_of_group(self) -> Ints:
        """Position of one option of each group."""
        return np.unique(self.group, return_index=True)[1].astype(np.int64)

    @cached_property
    def is_shared(self) -> Bools:
        """Whether an option's group has others, among which trays may be split."""
        return np.bincount(self.group, minlength=self.groups)[self.group] > 1

    @property
    def groups(self) -> int:
        """Number of groups."""
        return int(self.group.max(initial=-1)) + 1

    @cached_property
    def thing(self) -> Ints:
        """The thing of each option looked at."""
        return self.options.thing[self.looked_at]

    @cached_property
    def is_home(self) -> Bools:
        """Options where nothing changes."""
        return self.options.home[self.looked_at]

    @cached_property
    def home_group(self) -> Bools:
        """Groups whose planting day is the present one."""
        found = np.zeros(self.groups, np.bool_)
        found[self.group[self.is_home]] = True
        return found

    @cached_property
    def droppable(self) -> Ints:
        """Things that may be dropped."""
        found = np.unique(self.thing)
        return found[self.things.priority[found] > 0]

    @cached_property
    def movable(self) -> Ints:
        """Things whose trays may leave their place on the present planting day."""
        return np.unique(self.thing[self.is_shared & self.home_group[self.group]])

    @cached_property
    def column(self) -> dict[str, Ints]:
        """Columns of the variables by their letter."""
        sizes = {
            "x": self.groups, "y": int(self.is_shared.sum()), "d": len(self.droppable), "m": len(self.movable),
            "s": len(self.area),
        }  # fmt: skip
        ends = np.cumsum([0, *sizes.values()])
        return {name: np.arange(low, low + size) for (name, size), low in zip(sizes.items(), ends, strict=False)}

    @property
    def size(self) -> int:
        """Number of columns."""
        return sum(map(len, self.column.values()))

    def upper(self) -> Floats:
        """Largest values."""
        most = np.ones(self.size)
        most[self.column["y"]] = self.things.trays[self.thing[self.is_shared]]
        most[self.column["s"]] = np.inf
        return most

    def whole(self) -> Ints:
        """1 for columns that take whole values only."""
        found = np.ones(self.size, np.int64)
        found[self.column["s"]] = 0
        return found

    def rows(self) -> tuple[sparse.csr_array, Floats, Floats]:
        """Matrix, and the least and most of each row."""
        parts = [self._one_way_each(), self._trays_in_all(), self._moved(), self._room()]
        entries: list[tuple[Ints, Ints, Floats]] = []
        lows, highs, below = [], [], 0
        for row, column, value, low, high in parts:
            entries.append((row + below, column, value))
            lows.append(low)
            highs.append(high)
            below += len(low)
        row, column, value = (np.concatenate(found) for found in zip(*entries, strict=True))
        matrix = sparse.coo_array((value, (row, column)), shape=(below, self.size))
        return sparse.csr_array(matrix), np.concatenate(lows), np.concatenate(highs)

    def _one_way_each(self) -> tuple[Ints, Ints, Floats, Floats, Floats]:
        things = np.unique(self.thing)
        rows = np.searchsorted(things, self.thing[self.first_of_group])
        drops = np.searchsorted(things, self.droppable)
        row, column = np.concatenate([rows, drops]), np.concatenate([self.column["x"], self.column["d"]])
        one = np.ones(len(things))
        return row, column, np.ones(len(row)), one, one

    def _trays_in_all(self) -> tuple[Ints, Ints, Floats, Floats, Floats]:
        groups, row = np.unique(self.group[self.is_shared], return_inverse=True)
        trays = self.things.trays[self.thing[self.first_of_group[groups]]].astype(np.float64)
        rows = np.concatenate([row.astype(np.int64), np.arange(len(groups))])
        columns = np.concatenate([self.column["y"], self.column["x"][groups]])
        zero = np.zeros(len(groups))
        return rows, columns, np.concatenate([np.ones(len(row)), -trays]), zero, zero

    def _moved(self) -> tuple[Ints, Ints, Floats, Floats, Floats]:
        away = ~self.is_home[self.is_shared] & self.home_group[self.group[self.is_shared]]
        row = np.searchsorted(self.movable, self.thing[self.is_shared][away])
        rows = np.concatenate([row, np.arange(len(self.movable))])
        columns = np.concatenate([self.column["y"][away], self.column["m"]])
        values = np.concatenate([np.ones(len(row)), -self.things.trays[self.movable].astype(np.float64)])
        return rows, columns, values, np.full(len(self.movable), -np.inf), np.zeros(len(self.movable))

    def _room(self) -> tuple[Ints, Ints, Floats, Floats, Floats]:
        load = self.load[self.looked_at].tocoo()
        option, pair = load.coords
        column = self.column["x"][self.group[option]].copy()
        value = load.data.copy()
        shared = self.is_shared[option]
        position = np.cumsum(self.is_shared) - 1
        column[shared] = self.column["y"][position[option[shared]]]
        value[shared] /= self.things.trays[self.thing[option[shared]]]
        rows = np.concatenate([pair, np.arange(len(self.area))]).astype(np.int64)
        columns = np.concatenate([column, self.column["s"]])
        values = np.concatenate([value, np.full(len(self.area), -1.0)])
        high = self.areas.room[self.area] - self.areas.standing[self.area, self.week]
        return rows, columns, values, np.full(len(self.area), -np.inf), high

    def cost_of_overflow(self) -> Floats:
        """m² times weeks that stay too little."""
        return self._cost("s", np.ones(len(self.area)))

    def cost_of_dropping(self, priority: int) -> Floats:
        """Plants dropped of one priority."""
        counted = self.things.priority[self.droppable] == priority
        return self._cost("d", np.where(counted, np.maximum(self.things.plants[self.droppable], 1), 0))

    def cost_of_shifting(self) -> Floats:
        """Plants times days by which they are planted later or earlier."""
        first = self.looked_at[self.first_of_group]
        plants = np.maximum(self.things.plants[self.options.thing[first]], 1)
        return self._cost("x", np.abs(self.options.days[first]) * plants)

    def cost_of_touching(self) -> Floats:
        """Things with which anything is done."""
        found = self._cost("x", ~self.home_group)
        found[self.column["d"]] = found[self.column["m"]] = 1.0
        return found

    def cost_of_moving(self) -> Floats:
        """Trays that stand elsewhere than at home."""
        found = np.zeros(self.size)
        own = np.full(len(self.things), -1)
        own[self.thing[self.is_home]] = self.options.place[self.looked_at[self.is_home]]
        away = self.options.place[self.looked_at] != own[self.thing]
        found[self.column["y"]] = away[self.is_shared]
        alone = away & ~self.is_shared
        found[self.column["x"][self.group[alone]]] = self.things.trays[self.thing[alone]]
        return found

    def _cost(self, letter: str, values: np.ndarray) -> Floats:
        found = np.zeros(self.size)
        found[self.column[letter]] = values
        return found

    def read(self, solution: Floats) -> tuple[Ints, Bools]:
        """Trays of every option, and things dropped; things that were not looked at stay as they are."""
        trays = np.where(self.options.home, self.things.trays[self.options.thing], 0)
        chosen = np.rint(solution[self.column["x"]])[self.group] * self.things.trays[self.thing]
        chosen[self.is_shared] = np.rint(solution[self.column["y"]])
        trays[self.looked_at] = chosen.astype(np.int64)
        dropped = np.zeros(len(self.things), np.bool_)
        dropped[self.droppable] = np.rint(solution[self.column["d"]]) > 0
        return trays, dropped
