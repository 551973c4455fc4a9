"""What a person must know of a line: why it falls short, when it could work, and what would rescue it.

Findings are codes with values; the sentences are made where they are shown, in the reader's language.
"""

from __future__ import annotations

import numpy as np

from nursery.planning.arrays import Bools, Ints
from nursery.planning.heavy import pd
from nursery.planning.plan_dates import SEASONS_AHEAD, Dating, choose_days, date_lines, years_later
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_lots import offers_table
from nursery.planning.plan_mix import missed
from nursery.planning.plan_seed import SeedPlan, new_seed

COLUMNS = ("line", "code", "number", "day", "text")


def find_problems(
    inputs: PlanInputs, row: Ints, dating: Dating, seed: SeedPlan, lines: pd.DataFrame, mix: pd.DataFrame
) -> pd.DataFrame:
    """All findings of all lines, in the order in which they should be read.

    Returns
    -------
    DataFrame
        ``line, code, number, day, text``; what number, day and text mean depends on the code.
    """
    given, table = inputs.lines, inputs.protocols.table.iloc[row]
    late, short = (lines["status"] == "late").to_numpy(), (lines["status"] == "short").to_numpy()
    missing = (lines["seeds_missing"] > 0).to_numpy()
    volume, asked = given["cell_volume_cm3"].to_numpy(), table["container_volume_cm3"].to_numpy()
    opens, closes = (given[c].to_numpy().astype("datetime64[D]") for c in ("window_open", "window_close"))
    pinned = ~np.isnat(given["pinned_day"].to_numpy())
    out = pinned & ((dating.plant_on < opens) | (dating.plant_on > closes))
    moved = dating.in_time & ~pinned & (dating.plant_on > opens)
    container = given["cells_per_tray"].to_numpy() > 0
    found = [
        _finding("nothing-wanted", (given["wanted"] < 1).to_numpy()),
        _finding("late", late, day=dating.start),
        _finding("cannot-wait", short & ~seed.new.alive & missing, day=seed.new.closes_on),
        _finding("season-over", short & seed.new.alive & missing, day=seed.new.closes_on),
        _finding(
            "collect",
            (lines["status"] == "collect").to_numpy(),
            number=lines["seeds_missing"],
            day=seed.new.closes_on,
            text=np.where(lines["is_cuttings"], "cuttings", "seed"),
        ),
        _finding("no-origin", ((given["region_code"] == "") & (given["basin"] == "")).to_numpy()),
        _killed(inputs, seed),
        _rescued(inputs, row, late | short),
        _earliest_season(inputs, row, late | short),
        _elsewhere(inputs, seed, missing & ~late),
        *(_finding(code, which, number=number, text=text) for code, which, number, text in missed(inputs, mix)),
        _finding("buy-in", late | short, number=lines["shortfall"]),
        _finding("later-in-window", moved, day=opens),
        _finding("grown-late", lines["is_covered"].to_numpy() & (dating.ready_on > closes), day=dating.ready_on),
        _finding("outside-window", out, day=np.where(dating.plant_on < opens, opens, closes)),
        _finding("no-container", ~container & ~seed.growth.in_bed),
        _finding("small-cells", container & ~seed.growth.in_bed & (volume < asked), number=asked),
    ]
    return pd.concat(found, ignore_index=True).sort_values("line", kind="stable", ignore_index=True)


def _finding(
    code: str, where: Bools, number: object = np.nan, day: object = None, text: object = ""
) -> pd.DataFrame:
    count = len(where)
    days = np.full(count, np.datetime64("NaT", "D")) if day is None else np.asarray(day)
    frame = pd.DataFrame(
        {
            "line": np.arange(count),
            "code": code,
            "number": np.broadcast_to(np.asarray(number, np.float64), count),
            "day": days.astype("datetime64[s]"),
            "text": np.broadcast_to(np.asarray(text, dtype=object), count),
        }
    )
    return frame[where]


def _killed(inputs: PlanInputs, seed: SeedPlan) -> pd.DataFrame:
    """Seed that is left out because its storage killed it; the text is the lots' ids, parted by blanks."""
    pairs = seed.pairs[seed.pairs["is_allowed"] & seed.pairs["is_lost"]]
    lots = inputs.lots.iloc[pairs["lot"]]
    found = pairs.assign(seeds=lots["seeds"].to_numpy(), lot_id=lots["lot_id"].astype(str).to_numpy())
    by_line = found.groupby("line").agg(seeds=("seeds", "sum"), lot_id=("lot_id", " ".join))
    every = by_line.reindex(range(len(inputs.lines)))
    where = every["seeds"].notna().to_numpy()
    return _finding("killed-in-store", where, number=every["seeds"].fillna(0), text=every["lot_id"].to_numpy())


def _obtainable(inputs: PlanInputs, row: Ints, dating: Dating) -> Bools:
    """Lines that are in time and whose seed is in hand or can still be collected."""
    possible = new_seed(inputs, row, dating).possible
    possible[offers_table(inputs, row, dating)["line"].to_numpy()] = True
    return np.asarray(possible & dating.in_time)


def _rescued(inputs: PlanInputs, row: Ints, where: Bools) -> pd.DataFrame:
    """The first other protocol of the species that would still be in time in the season wanted."""
    waiting, found = np.flatnonzero(where), []
    keys = inputs.protocols.table["key"].to_numpy()
    for nth in range(len(keys)):
        other = inputs.protocols.alternatives(row[waiting], nth)
        waiting, other = waiting[other >= 0], other[other >= 0]
        if not len(waiting):
            break
        some = inputs.only(waiting)
        dating = choose_days(some, other)
        good = _obtainable(some, other, dating)
        found.append(
            _finding("rescue-protocol", good, day=dating.start, text=keys[other]).assign(line=waiting[good])
        )
        waiting = waiting[~good]
    return pd.concat(found) if found else _nothing()


def _earliest_season(inputs: PlanInputs, row: Ints, where: Bools) -> pd.DataFrame:
    waiting, found = np.flatnonzero(where), []
    pinned = inputs.lines["pinned_day"].to_numpy().astype("datetime64[D]")
    opens = inputs.lines["window_open"].to_numpy().astype("datetime64[D]")
    first = np.where(np.isnat(pinned), opens, pinned)
    season = inputs.lines["season"].to_numpy()
    for years in range(1, SEASONS_AHEAD + 1):
        if not len(waiting):
            break
        some = inputs.only(waiting)
        dating = date_lines(some, row[waiting], years_later(first[waiting], years))
        good = _obtainable(some, row[waiting], dating)
        number = season[waiting] + years
        found.append(_finding("earliest-season", good, number=number, day=dating.start).assign(line=waiting[good]))
        waiting = waiting[~good]
    return pd.concat(found) if found else _nothing()


def _elsewhere(inputs: PlanInputs, seed: SeedPlan, where: Bools) -> pd.DataFrame:
    """Seed of the species left over in lots that the rules of origin, or a person, keep from the line."""
    lots, drawn = inputs.lots, seed.sown.drawn
    left = lots["seeds"].to_numpy() - np.bincount(seed.offers["lot"], drawn.seeds, len(lots)).astype(np.int64)
    pairs = seed.pairs[~seed.pairs["is_allowed"] & seed.pairs["is_alive"] & ~seed.pairs["is_lost"]]
    number = np.bincount(pairs["line"], left[pairs["lot"].to_numpy()], len(inputs.lines))
    return _finding("seed-elsewhere", where & (number > 0), number=number)


def _nothing() -> pd.DataFrame:
    return pd.DataFrame(columns=list(COLUMNS))
