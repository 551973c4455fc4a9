"""The mix of lots that each line gets, and where it misses what the site's strategy asks."""

from __future__ import annotations

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.strategies import SOURCES
from nursery.planning.plan_fixed import growing_sources
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_origin import ROUNDING, LineTerms, line_terms
from nursery.planning.plan_seed import SeedPlan


def mixes(inputs: PlanInputs, seed: SeedPlan) -> pd.DataFrame:
    """Shares of what is drawn for each line and of what grows for it already, by expected ready plants.

    Returns
    -------
    DataFrame
        A row a line: ``plants`` drawn and growing; a share for each source (``local, near, far, climate``);
        ``populations``; ``largest_population``; ``effective_mothers`` by 1/N = Σ w²/N_k of unrelated lots;
        ``mothers_known``, False where some lot's balance is only bounded; ``largest_family``. NaN where nothing is
        drawn or known.
    """
    count, parts = len(inputs.lines), _parts(inputs, seed)
    line, plants, source, known, most, family, population = (parts[name].to_numpy() for name in _PART)
    total = np.bincount(line, plants, count)
    share = np.divide(plants, total[line], out=np.zeros(len(line)), where=total[line] > 0)
    drawn = share > 0
    mothers = np.where(np.isnan(known), most, known)
    by_population = _by_population(line[drawn], population[drawn], share[drawn])
    table = pd.DataFrame({"plants": total})
    for number, name in enumerate(SOURCES):
        table[name.value] = np.bincount(line, share * (source == number), count)
    table["populations"] = by_population["population"].reindex(range(count), fill_value=0).to_numpy(np.int64)
    table["largest_population"] = by_population["share"].reindex(range(count)).to_numpy()
    inverse = np.bincount(line, np.where(drawn, share**2 / np.where(mothers >= 1, mothers, 1.0), 0.0), count)
    table["effective_mothers"] = np.divide(1.0, inverse, out=np.full(count, np.nan), where=inverse > 0)
    table["mothers_known"] = np.bincount(line, drawn & np.isnan(known), count) == 0
    table["largest_family"] = _largest(line, np.where(drawn, share * family, np.nan), count)
    shares = [name.value for name in SOURCES]
    table.loc[total <= 0, shares] = np.nan
    return table


_PART = ("line", "plants", "source", "effective_mothers", "most_mothers", "largest_family", "population_id")


def _parts(inputs: PlanInputs, seed: SeedPlan) -> pd.DataFrame:
    """A row for each lot of each line: its seed that is drawn and its plants that grow already are one."""
    line, lot = seed.offers["line"].to_numpy(), seed.offers["lot"].to_numpy()
    viability = seed.offers["viability"].to_numpy()
    drawn = _of_lots(inputs.origin.lots, lot).assign(
        line=line,
        lot_id=inputs.lots["lot_id"].to_numpy()[lot],
        plants=seed.sown.drawn.units * seed.growth.ready_per_unit(viability, line),
        source=seed.offers["source"].to_numpy(),
    )
    growing = inputs.growing
    if growing is None or not len(growing.parts):
        return drawn
    at = growing.parts["lot"].to_numpy(np.int64)
    grown = _of_lots(growing.lots, at).assign(
        line=growing.parts["line"].to_numpy(np.int64),
        lot_id=growing.lots["lot_id"].to_numpy()[at],
        plants=growing.parts["plants"].to_numpy(np.float64),
        source=growing_sources(inputs, growing, growing.parts),
    )
    every = pd.concat([drawn[drawn["plants"] > 0], grown], ignore_index=True)
    same = dict.fromkeys(set(every.columns) - {"line", "lot_id", "plants"}, "first")
    summed: pd.DataFrame = every.groupby(["line", "lot_id"], as_index=False).agg({"plants": "sum", **same})
    # "first" passes over what is not known, which is right: both rows of a lot know the same.
    return summed


def _of_lots(lots: pd.DataFrame, at: Ints) -> pd.DataFrame:
    names = ("effective_mothers", "most_mothers", "largest_family")
    numbers = {name: lots[name].to_numpy(np.float64)[at] for name in names}
    return pd.DataFrame({**numbers, "population_id": lots["population_id"].to_numpy()[at]})


def missed(inputs: PlanInputs, mix: pd.DataFrame) -> list[tuple[str, Bools, Floats, object]]:
    """What of the strategies' terms the mixes miss: code, lines, number found, and what was asked as text."""
    terms = line_terms(inputs.origin)
    some = (mix["plants"] > 0).to_numpy()
    found = _missed_shares(terms, mix, some)
    populations = mix["populations"].to_numpy()
    few = some & (populations < terms.least_populations)
    found.append(("populations-missed", few, populations.astype(np.float64), _texts(terms.least_populations)))
    for code, column, cap in (
        ("population-cap", "largest_population", terms.population_cap),
        ("family-cap", "largest_family", terms.family_cap),
    ):
        value = mix[column].to_numpy()
        found.append((code, some & (value > cap + ROUNDING), value, _texts(cap)))
    mothers = mix["effective_mothers"].to_numpy()
    low = some & (mothers < terms.least_mothers * (1 - ROUNDING))
    found.append(("mothers-missed", low, mothers, _texts(terms.least_mothers)))
    return found


def _missed_shares(terms: LineTerms, mix: pd.DataFrame, some: Bools) -> list[tuple[str, Bools, Floats, object]]:
    found = []
    for number, name in enumerate(SOURCES):
        share, asked = mix[name.value].to_numpy(), terms.shares[:, number]
        off = some & (np.abs(share - asked) > terms.tolerance + ROUNDING)
        found.append((f"share-{name.value}", off, share, _texts(asked)))
    return found


def _by_population(line: Ints, population: Ints, share: Floats) -> pd.DataFrame:
    """Number of populations of each line, and the share of the largest."""
    rows = pd.DataFrame({"line": line, "population": population, "share": share})
    each = rows.groupby(["line", "population"], as_index=False)["share"].sum()
    groups = each.groupby("line")
    return pd.DataFrame({"population": groups.size(), "share": groups["share"].max()})


def _largest(line: Ints, values: Floats, count: int) -> Floats:
    known = ~np.isnan(values)
    largest = np.full(count, -np.inf)
    np.maximum.at(largest, line[known], values[known])
    return np.where(np.isfinite(largest), largest, np.nan)


def _texts(values: np.ndarray) -> object:
    return np.array([str(value) for value in values.tolist()], dtype=object)
