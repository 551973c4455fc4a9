"""Small problems written out, and what an allocation is worth level by level, worked without the optimiser."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from nursery.planning.allocation import SOURCES, Holdings, Needs, Pairs, Problem
from nursery.planning.arrays import Floats


def needs(plants: Sequence[float], *, turn: Sequence[int] | int = 1, **wishes: object) -> Needs:
    """Lines without wishes, where none are given; a wish is one value for all lines or one a line."""
    count = len(plants)
    plain = {
        "shares": np.full((count, len(SOURCES)), np.nan),
        "tolerance": 0.05,
        "least_populations": 1,
        "population_cap": np.nan,
        "family_cap": np.nan,
        "least_mothers": np.nan,
        **wishes,
    }
    values = {
        name: np.broadcast_to(np.asarray(value), (count, len(SOURCES)) if name == "shares" else count)
        for name, value in plain.items()
    }
    return Needs(np.asarray(plants, float), np.broadcast_to(np.asarray(turn), count), **values)


def holdings(
    seeds: Sequence[float],
    *,
    population: Sequence[int] | None = None,
    mothers: Sequence[float] | float = np.nan,
    family: Sequence[float] | float = np.nan,
    kin: Sequence[int] | None = None,
) -> Holdings:
    """Lots, each of a population of its own and of unknown mothers where nothing else is said."""
    count = len(seeds)
    return Holdings(
        np.asarray(seeds, float),
        np.arange(count) if population is None else np.asarray(population),
        np.broadcast_to(np.asarray(mothers, float), count),
        np.broadcast_to(np.asarray(family, float), count),
        np.arange(count) if kin is None else np.asarray(kin),
    )


def pairs(line: Sequence[int], lot: Sequence[int], **values: object) -> Pairs:
    """Pairs of one plant a seed, local, near and free of care where nothing else is said."""
    count = len(line)
    plain = {
        "plants_per_seed": 1.0,
        "least": 0.0,
        "source": 0,
        "cautions": 0,
        "perishable": False,
        "distance_m": 0.0,
        "pinned": 0.0,
        "before": 0.0,
        "fixed": False,
        **values,
    }
    spread = {name: np.broadcast_to(np.asarray(value), count).copy() for name, value in plain.items()}
    return Pairs(np.asarray(line, np.int64), np.asarray(lot, np.int64), **spread)


def problem(lines: Needs, lots: Holdings, every: Pairs | None = None, **values: object) -> Problem:
    """All lots may serve all lines, where no pairs are given."""
    if every is None:
        line, lot = np.divmod(np.arange(len(lines) * len(lots)), len(lots))
        every = pairs(line.tolist(), lot.tolist(), **values)
    return Problem(lines, lots, every)


def together(first: Problem, second: Problem) -> Problem:
    """Two problems that have nothing to do with each other as one."""

    def joined(one: object, other: object) -> dict[str, np.ndarray]:
        return {name: np.concatenate([value, getattr(other, name)]) for name, value in vars(one).items()}

    moved = replace(
        second.pairs, line=second.pairs.line + len(first.needs), lot=second.pairs.lot + len(first.holdings)
    )
    return Problem(
        Needs(**joined(first.needs, second.needs)),
        Holdings(**joined(first.holdings, second.holdings)),
        Pairs(**joined(first.pairs, moved)),
    )


def shuffled(given: Problem, rng: np.random.Generator) -> tuple[Problem, np.ndarray]:
    """The same problem with its rows in another order, and where each pair stands now."""
    lines, lots = rng.permutation(len(given.needs)), rng.permutation(len(given.holdings))
    order = rng.permutation(len(given.pairs))
    taken = given.pairs.take(order)
    now = replace(taken, line=np.argsort(lines)[taken.line], lot=np.argsort(lots)[taken.lot])
    return Problem(
        Needs(**{name: value[lines] for name, value in vars(given.needs).items()}),
        Holdings(**{name: value[lots] for name, value in vars(given.holdings).items()}),
        now,
    ), order


def by_line(given: Problem, plants: Floats) -> Floats:
    """Plants that each line gets."""
    return np.bincount(given.pairs.line, plants, len(given.needs))


def by_turn(given: Problem, plants: Floats) -> Floats:
    """Plants by turn, the first turn first."""
    turns, of_line = np.unique(given.needs.turn, return_inverse=True)
    return np.bincount(of_line, by_line(given, plants), len(turns))


def seeds_taken(given: Problem, plants: Floats) -> Floats:
    """Seeds that each lot gives."""
    return np.bincount(given.pairs.lot, plants / given.pairs.plants_per_seed, len(given.holdings))


def levels(given: Problem, plants: Floats) -> np.ndarray:
    """Value at every level, less being better; ``plants`` has the shape (allocations, pairs)."""
    at, many = given.pairs, np.atleast_2d(plants)
    need = given.needs.plants[at.line]
    turns = np.unique(given.needs.turn)
    filled = [-(many * (given.needs.turn[at.line] == turn)).sum(1) for turn in turns]
    pins = np.where(at.pinned > 0, np.maximum(np.minimum(at.pinned, need) - many, 0), 0).sum(1)
    moved = np.where(at.before > 0, np.maximum(np.minimum(at.before, need) - many, 0), 0).sum(1)
    way = (many * at.distance_m).sum(1) / (given.needs.plants.sum() * max(at.distance_m.max(), 1.0))
    return np.stack(
        [
            pins,
            *filled,
            _wishes(given, many),
            _mothers(given, many),
            (many * at.cautions).sum(1),
            moved,
            -(many * at.perishable).sum(1),
            (many > 1e-6).sum(1) + 0.5 * way,
        ],
        axis=1,
    )


def _wishes(given: Problem, many: np.ndarray) -> np.ndarray:
    missed = np.zeros(len(many))
    lines, lots, at = given.needs, given.holdings, given.pairs
    for line in np.unique(at.line):
        own = np.flatnonzero(at.line == line)
        share = many[:, own] / lines.plants[line]
        whole = share.sum(1)
        populations = lots.population[at.lot[own]]
        present = np.zeros(len(many))
        for population in np.unique(populations):
            of_it = share[:, populations == population].sum(1)
            present += np.minimum(of_it * max(lines.plants[line], 1.0), 1)  # in full from one plant on
            if not np.isnan(lines.population_cap[line]):
                missed += np.maximum(of_it - lines.population_cap[line] * whole, 0)
        if lines.least_populations[line] > 1:
            missed += np.maximum(1 - present / lines.least_populations[line], 0)
        family = lots.largest_family[at.lot[own]]
        if not np.isnan(lines.family_cap[line]):
            over = _of_lots(given, own, share) * family - lines.family_cap[line] * whole[:, None]
            missed += np.nansum(np.maximum(over, 0)[:, _first_of_lots(given, own)], axis=1)
        if not np.isnan(lines.shares[line]).any():
            for source, wanted in enumerate(lines.shares[line]):
                away = np.abs(share[:, at.source[own] == source].sum(1) - wanted * whole)
                missed += np.maximum(away - lines.tolerance[line] * whole, 0)
    return missed


def _of_lots(given: Problem, own: np.ndarray, share: np.ndarray) -> np.ndarray:
    """For each pair all that its lot gives to the line, seed in store and plants in the nursery together."""
    kin = given.holdings.kin[given.pairs.lot[own]]
    return share @ (kin[:, None] == kin).astype(float)


def _first_of_lots(given: Problem, own: np.ndarray) -> np.ndarray:
    return np.unique(given.holdings.kin[given.pairs.lot[own]], return_index=True)[1]


def _mothers(given: Problem, many: np.ndarray) -> np.ndarray:
    missed = np.zeros(len(many))
    for line in np.flatnonzero(~np.isnan(given.needs.least_mothers)):
        own = np.flatnonzero(given.pairs.line == line)
        share = many[:, own] / given.needs.plants[line]
        known = given.holdings.effective_mothers[given.pairs.lot[own]]
        worth = np.where(known >= 1, known, 1.0)
        length = np.sqrt((share * _of_lots(given, own, share) / worth).sum(1))
        missed += np.maximum(length - share.sum(1) / np.sqrt(given.needs.least_mothers[line]), 0)
    return missed


def every_allocation(given: Problem, step: float = 1.0) -> np.ndarray:
    """All allocations in steps of so many plants that keep balances, needs and least draws."""
    at = given.pairs
    assert np.all(at.plants_per_seed == 1)
    need, seeds = given.needs.plants[at.line], given.holdings.seeds[at.lot]
    most = np.minimum(need, seeds)
    least = np.where(at.pinned > 0, 0, np.minimum(np.maximum(at.least, 1), need))
    found = np.zeros((1, 0))
    for pair in range(len(at)):
        choices = np.arange(0, most[pair] + 1e-9, step)
        choices = choices[(choices == 0) | (choices >= least[pair])]
        if at.fixed[pair]:
            choices = most[pair : pair + 1]
        found = np.hstack([np.repeat(found, len(choices), 0), np.tile(choices, len(found))[:, None]])
        fits = np.ones(len(found), bool)
        for side, held in ((at.line, given.needs.plants), (at.lot, given.holdings.seeds)):
            fits &= found[:, side[: pair + 1] == side[pair]].sum(1) <= held[side[pair]] + 1e-9
        found = found[fits]
    return found


def best_of(values: np.ndarray) -> np.ndarray:
    """The lexicographically least row, levels compared to a millionth."""
    left = values
    for level in range(values.shape[1]):
        left = left[left[:, level] <= left[:, level].min() + 1e-6]
    return left[0]
