"""From which source seed still to be collected should come: what a line lacks, and what only its shares lack."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.pairs import Pairs
from nursery.planning.origin.strategies import SOURCES
from nursery.planning.origin.words import NeedPurpose, NeedSource
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_origin import ROUNDING, line_terms
from nursery.planning.plan_seed import SeedPlan
from nursery.planning.rounding import whole

#: What of a source to collect for a line; ``source`` and ``purpose`` are values of their words.
COLUMNS = ("line", "source", "purpose", "seeds", "plants")


@dataclass(frozen=True)
class Lacking:
    """Per line and source, in ready plants: what of the missing seed each source should give, and what then lacks.

    ``shares`` is counted only where it misses the strategy by more than its tolerance: the line has its plants,
    of other sources than asked.
    """

    plants: Floats
    shares: Floats


def line_regions(inputs: PlanInputs) -> np.ndarray:
    """The region of each line's site as it holds for the line's species; empty where unknown."""
    every = np.arange(len(inputs.lines))
    return Pairs(inputs.lines, inputs.origin.sites, every, inputs.origin.site).site_regions


def lacking(held: Floats, missing: Floats, shares: Floats, tolerance: Floats) -> Lacking:
    """Share missing plants out to sources, so that the mix comes as near as it can to what is asked.

    Parameters
    ----------
    held : ndarray, shape (lines, sources)
        Ready plants of the seed in hand.
    missing : ndarray, shape (lines,)
        Ready plants whose seed is still to be collected.
    shares : ndarray, shape (lines, sources)
        Asked for, with the sum 1.
    tolerance : ndarray, shape (lines,)
        By how much a share may be missed.

    Notes
    -----
    Each source gives in proportion to what lacks of its share; none gives more than that, since the gaps together
    are never less than what is missing. A gap below `ROUNDING` of the line is not worth a trip of its own: the
    others bear it, unless there is no larger one.
    """
    total = held.sum(1) + missing
    gap = np.maximum(shares * total[:, None] - held, 0.0)
    worth = gap >= ROUNDING * total[:, None]
    worth |= ~worth.any(1, keepdims=True) & (gap == gap.max(1, keepdims=True))
    large = np.where(worth, gap, 0.0)
    every = large.sum(1, keepdims=True)
    plants = missing[:, None] * np.divide(large, every, out=np.zeros_like(large), where=every > 0)
    left = np.maximum(gap - plants, 0.0)
    missed = left > (tolerance + ROUNDING)[:, None] * total[:, None]
    return Lacking(plants, np.where(missed, left, 0.0))


def source_parts(inputs: PlanInputs, seed: SeedPlan, lines: pd.DataFrame, mix: pd.DataFrame) -> pd.DataFrame:
    """What to collect for each line by source and purpose, see `COLUMNS`.

    Of a line that mixes no sources, the purpose ``shares`` asks for other populations than those it draws on,
    where these are fewer than its strategy asks for or one gives more than it may.

    The parts of the purpose ``plants`` of a line add up to its missing seeds and its shortfall. Those of the
    purpose ``shares`` come on top and are not needed for the number of plants.
    """
    terms = line_terms(inputs.origin)
    mixes = ~np.isnan(terms.shares).any(1)
    mixes &= np.abs(np.nan_to_num(terms.shares).sum(1) - 1) < ROUNDING
    collect = (lines["status"] == "collect").to_numpy()
    plain = np.flatnonzero(collect & ~mixes)
    strict = inputs.origin.accepts.is_strict[inputs.origin.site[plain]]
    whole_lines = pd.DataFrame(
        {
            "line": plain,
            "source": np.where(strict, NeedSource.LOCAL.value, NeedSource.REGION.value),
            "purpose": NeedPurpose.PLANTS.value,
            "seeds": lines["seeds_missing"].to_numpy()[plain],
            "plants": lines["shortfall"].to_numpy()[plain],
        }
    )
    # Where nothing is to be sown any more, since batches are, no other seed can take its place.
    can = seed.new.possible & (seed.sown.units > 0)
    parts = [
        whole_lines,
        *_of_mixed(inputs, seed, lines, mix, np.flatnonzero(mixes & can)),
        _of_too_few(inputs, seed, lines, mix, np.flatnonzero(~mixes & can & ~collect)),
    ]
    found = pd.concat(parts, ignore_index=True)[list(COLUMNS)]
    return found.sort_values(["line", "purpose"], kind="stable", ignore_index=True)


def _of_mixed(
    inputs: PlanInputs, seed: SeedPlan, lines: pd.DataFrame, mix: pd.DataFrame, at: Ints
) -> list[pd.DataFrame]:
    """Of lines whose site mixes sources by shares."""
    terms, fresh = line_terms(inputs.origin), seed.new.germination[at]
    per_unit = seed.growth.ready_per_unit(fresh, at)
    shares = mix[[source.value for source in SOURCES]].fillna(0.0).to_numpy(np.float64)[at]
    held = shares * mix[["plants"]].to_numpy(np.float64)[at]
    missing_seeds = lines["seeds_missing"].to_numpy()[at]
    missing = np.where(missing_seeds > 0, seed.sown.missing_units[at] * per_unit, 0.0)
    found = lacking(held, missing, terms.shares[at], terms.tolerance[at])
    seeds = in_whole_parts(missing_seeds, found.plants)
    plants = in_whole_parts(lines["shortfall"].to_numpy()[at], seeds)
    wished, lots = found.shares.sum(1), _still_in_store(seed, len(lines))[at]
    part = np.divide(lots, wished, out=np.zeros(len(at)), where=wished > 0)
    in_time = found.shares * np.minimum(part, 1.0)[:, None]
    return [
        _table(at, NeedPurpose.PLANTS, seeds, plants),
        _table(at, NeedPurpose.SHARES, *_collected(seed, lines, at, in_time)),
    ]


def _still_in_store(seed: SeedPlan, count: int) -> Floats:
    """Ready plants of each line from seed that is drawn and not sown yet: only that can give way to other seed."""
    line = seed.offers["line"].to_numpy()
    gives = seed.growth.ready_per_unit(seed.offers["viability"].to_numpy(), line)
    return np.asarray(np.bincount(line, seed.sown.drawn.units * gives, count), np.float64)


def _of_too_few(
    inputs: PlanInputs, seed: SeedPlan, lines: pd.DataFrame, mix: pd.DataFrame, at: Ints
) -> pd.DataFrame:
    """Of lines whose seed comes from too few populations, or too much of it from one."""
    terms, here = line_terms(inputs.origin), mix.iloc[at]
    asked, cap = terms.least_populations[at], terms.population_cap[at]
    populations, largest = here["populations"].to_numpy(), here["largest_population"].to_numpy(np.float64)
    # With a cap what lies above it goes to others, and what so few populations cannot hold; else equal parts do.
    above = np.maximum(largest - cap, 1 - populations * cap)
    few = np.where(populations < asked, (asked - populations) / np.maximum(asked, 1), 0.0)
    share = np.where(np.isnan(cap), few, above)
    plants = np.where((populations > 0) & (share > ROUNDING), share, 0.0) * here["plants"].to_numpy(np.float64)
    plants = np.minimum(plants, _still_in_store(seed, len(lines))[at])
    seeds, planted = _collected(seed, lines, at, plants[:, None])
    found = _table(at, NeedPurpose.SHARES, seeds, planted)
    return found.assign(source=NeedSource.REGION.value)


def _collected(seed: SeedPlan, lines: pd.DataFrame, at: Ints, ready: Floats) -> tuple[Ints, Ints]:
    """Seeds to collect for ready plants, and the plants to plant that these are."""
    fresh = seed.new.germination[at]
    per_unit, seeds_per_unit = seed.growth.ready_per_unit(fresh, at), seed.growth.seeds_per_unit(fresh, at)
    each = np.divide(seeds_per_unit, per_unit, out=np.zeros(len(at)), where=per_unit > 0)
    of_ready = lines["plants_to_plant"].to_numpy()[at] / np.maximum(lines["ready_plants"].to_numpy()[at], 1)
    return whole(ready * each[:, None]), whole(ready * of_ready[:, None])


def in_whole_parts(total: Ints, weights: Floats | Ints) -> Ints:
    """Whole numbers in proportion to weights that add up to each row's total, by largest remainders."""
    weights = np.asarray(weights, np.float64)
    every = weights.sum(1, keepdims=True)
    exact = np.divide(weights, every, out=np.zeros_like(weights), where=every > 0) * total[:, None]
    floor = np.floor(exact + 1e-9)
    rest = np.where(every[:, 0] > 0, total - floor.sum(1), 0)
    order = np.argsort(-np.where(weights > 0, exact - floor, -1.0), axis=1, kind="stable")
    rank = np.argsort(order, axis=1, kind="stable")
    return np.asarray(floor + (rank < rest[:, None]), np.int64)


def _table(at: Ints, purpose: NeedPurpose, seeds: Ints, plants: Ints) -> pd.DataFrame:
    line, source = np.nonzero(seeds > 0)
    names = np.array([source.value for source in SOURCES], object)
    return pd.DataFrame(
        {
            "line": at[line],
            "source": names[source],
            "purpose": purpose.value,
            "seeds": seeds[line, source],
            "plants": plants[line, source],
        }
    )
