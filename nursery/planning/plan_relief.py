"""What holds a line that falls short of seed, and what would relieve it: duals and trial relaxations."""

from __future__ import annotations

import numpy as np

from nursery.planning.allocation.relief import Trials, gains
from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.rule_table import RULES
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_seed import SeedPlan

#: Findings of one kind told of a line; what gives most comes first.
MOST_TOLD = 3
COLUMNS = ("line", "code", "number", "text")


def find_relief(inputs: PlanInputs, seed: SeedPlan, short: Ints) -> pd.DataFrame:
    """Why lines fall short, in the order in which it should be read.

    Parameters
    ----------
    inputs : PlanInputs
    seed : SeedPlan
    short : ndarray of int, shape (lines,)
        Ready plants that seed in hand does not give; 0 for a line that has enough.

    Returns
    -------
    DataFrame
        ``line, code, number, text``. ``no-lot``: the nursery holds no seed of the species. ``used-up``: what the
        lot named (id) gives to other lines, in plants of this one. ``rule``: plants gained if the rule named
        stopped no lot here, in a trial that leaves every other line what it has. ``forbidden``: plants gained
        without the decision on the lots named. ``several-rules``, ``held``, ``dies``, ``lost``: how many lots more
        than one rule stops, are on hold, do not live until sowing, or were killed in store.
    """
    lines = np.flatnonzero(short > 0)
    if not lines.size:
        return pd.DataFrame(columns=list(COLUMNS))
    pairs = seed.pairs[np.isin(seed.pairs["line"], lines)]
    trials = Trials(
        seed.sharing.problem(seed.growth),
        seed.sharing.all_plants,
        short.astype(np.float64),
    )
    found = [
        _no_lot(lines, pairs),
        _used_up(inputs, seed, lines),
        _by_rule(seed, pairs, trials),
        _by_decision(seed, pairs, trials),
        _counted("several-rules", pairs[_by_several(pairs)]),
        _counted("held", pairs[pairs["is_held"]]),
        _counted("dies", pairs[pairs["is_allowed"] & ~pairs["is_alive"] & ~pairs["is_lost"]]),
        _counted("lost", pairs[pairs["is_allowed"] & pairs["is_lost"]]),
    ]
    return pd.concat(
        [each for each in found if len(each)] or [pd.DataFrame(columns=list(COLUMNS))], ignore_index=True
    )


def _rows(code: str, line: object, number: object, text: object) -> pd.DataFrame:
    return pd.DataFrame({"line": line, "code": code, "number": number, "text": text}, columns=list(COLUMNS))


def _no_lot(lines: Ints, pairs: pd.DataFrame) -> pd.DataFrame:
    alone = np.setdiff1d(lines, pairs["line"])
    return _rows("no-lot", alone, np.nan, "")


def _counted(code: str, pairs: pd.DataFrame) -> pd.DataFrame:
    each = pairs.groupby("line").size()
    return _rows(code, each.index.to_numpy(), each.to_numpy(np.float64), "")


def _by_several(pairs: pd.DataFrame) -> pd.Series:
    """Living lots that no single rule keeps away: lifting one of the rules would not bring them."""
    several = np.bitwise_count(pairs["stops"].to_numpy(np.int64)) > 1
    living: pd.Series = pairs["is_alive"] & ~pairs["is_lost"] & ~pairs["is_held"]
    found: pd.Series = living & ~pairs["is_allowed"] & ~pairs["is_forbidden"] & several
    return found


def _used_up(inputs: PlanInputs, seed: SeedPlan, lines: Ints) -> pd.DataFrame:
    """Lots that this line might have and others have: by the duals, more of them would be more plants here."""
    offers, drawn = seed.offers, seed.sown.drawn
    worth = seed.sharing.worth(seed.growth)
    lot, line = offers["lot"].to_numpy(), offers["line"].to_numpy()
    seeds = np.bincount(lot, drawn.seeds, len(inputs.lots))
    elsewhere = seeds[lot] - drawn.seeds
    units = elsewhere / seed.growth.seeds_per_unit(offers["viability"].to_numpy(), line)
    plants = units * seed.growth.ready_per_unit(offers["viability"].to_numpy(), line)
    at = np.flatnonzero(np.isin(line, lines) & (worth[lot] > 0) & (plants >= 1))
    rows = _rows("used-up", line[at], _whole(plants[at]), inputs.lots["lot_id"].to_numpy()[lot[at]].astype(str))
    return _largest(rows)


def _largest(rows: pd.DataFrame) -> pd.DataFrame:
    ordered = rows.sort_values(["line", "number"], ascending=[True, False], kind="stable")
    return ordered.groupby("line").head(MOST_TOLD)


def _by_rule(seed: SeedPlan, pairs: pd.DataFrame, trials: Trials) -> pd.DataFrame:
    """Lots that one rule alone keeps from the line, drawn in a trial."""
    refused = pairs[
        ~pairs["is_allowed"] & ~pairs["is_forbidden"] & ~pairs["is_held"] & pairs["is_alive"] & ~pairs["is_lost"]
    ]
    stops = refused["stops"].to_numpy(np.int64)
    rows = []
    for number, rule in enumerate(RULES):
        only = refused[stops == 1 << number]
        if len(only):
            rows.append(_gained(seed, only, trials, "rule").assign(text=rule.value))
    return _largest(pd.concat(rows)) if rows else pd.DataFrame(columns=list(COLUMNS))


def _by_decision(seed: SeedPlan, pairs: pd.DataFrame, trials: Trials) -> pd.DataFrame:
    refused = pairs[
        pairs["is_forbidden"] & (pairs["stops"] == 0) & ~pairs["is_held"] & pairs["is_alive"] & ~pairs["is_lost"]
    ]
    return _gained(seed, refused, trials, "forbidden") if len(refused) else refused.iloc[:0]


def _gained(seed: SeedPlan, pairs: pd.DataFrame, trials: Trials, code: str) -> pd.DataFrame:
    line, viability = pairs["line"].to_numpy(), pairs["viability"].to_numpy()
    each = seed.growth.ready_per_unit(viability, line) / seed.growth.seeds_per_unit(viability, line)
    found = gains(trials, line, pairs["lot"].to_numpy(), each)
    at = np.flatnonzero(found >= 1)
    lots = pairs.groupby("line")["lot_id"].apply(lambda ids: " ".join(str(each) for each in ids[:MOST_TOLD]))
    text = lots.reindex(at).to_numpy() if code == "forbidden" else ""
    return _rows(code, at, _whole(found[at]), text)


def _whole(plants: Floats) -> Floats:
    """Plants that can be expected, to the next whole one."""
    return np.rint(plants)
