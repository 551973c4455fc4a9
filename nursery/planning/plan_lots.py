"""Which lots may serve which line, in which order, and what their seed is worth on the day of sowing."""

from __future__ import annotations

import numpy as np
import pandas as pd

from nursery.planning.arrays import Floats
from nursery.planning.distance import distances
from nursery.planning.keeping import forecast
from nursery.planning.origin.places import asked_place, offered_places
from nursery.planning.plan_dates import Dating
from nursery.planning.plan_inputs import PlanInputs

#: Seed that keeps less than this share of its tested viability until sowing cannot live that long: a lot is
#: drawn only within its life in store, which the catalogue gives as the time in which viability halves. Own
#: convention, no source.
LEAST_SHARE_ALIVE = 0.5
#: A lot that will be dead a year after this sowing is perishable: it is used first.
_YEAR = np.timedelta64(365, "D")


def offers_table(inputs: PlanInputs, row: np.ndarray, dating: Dating) -> pd.DataFrame:
    """Pairs of line and lot that origin and life allow, in the order in which each line asks.

    Origin: the rule of `origin`. Order: the perishable first, then the nearest, then the oldest.

    Returns
    -------
    DataFrame
        ``line, lot`` (positions), ``rank`` within the line, ``viability`` on the day of sowing, ``distance_m``.
    """
    lines, lots, table = inputs.lines, inputs.lots, inputs.protocols.table
    pairs = _matching(inputs, row, dating)
    line, lot = pairs["line"].to_numpy(), pairs["lot"].to_numpy()
    sow_on = dating.sow_on[line]
    life = table["life_days"].to_numpy()[row][line]
    pairs["viability"] = lot_viability(lots, lot, sow_on, life)
    tested = lots["germination"].to_numpy()[lot]
    alive = (pairs["viability"] >= LEAST_SHARE_ALIVE * tested).to_numpy() & (pairs["viability"] > 0).to_numpy()
    pairs["perishable"] = lot_viability(lots, lot, sow_on + _YEAR, life) < LEAST_SHARE_ALIVE * tested
    pairs["distance_m"] = distances(
        lots["latitude"].to_numpy()[lot], lots["longitude"].to_numpy()[lot],
        lines["latitude"].to_numpy()[line], lines["longitude"].to_numpy()[line],
    )  # fmt: skip
    pairs["collected_on"] = lots["collected_on"].to_numpy()[lot]
    pairs["lot_id"] = lots["lot_id"].to_numpy()[lot]
    usable = (lots["seeds"].to_numpy() > 0) & ~lots["is_lost"].to_numpy()
    chosen: pd.DataFrame = pairs[alive & usable[lot]].sort_values(
        ["line", "perishable", "distance_m", "collected_on", "lot_id"], ascending=[True, False, True, True, True]
    )
    chosen["rank"] = chosen.groupby("line").cumcount()
    return chosen.reset_index(drop=True)


def lost_offers(inputs: PlanInputs, row: np.ndarray, dating: Dating) -> pd.DataFrame:
    """Pairs that would be in `offers_table` if storage had not killed the lot: ``line, lot`` (positions)."""
    pairs = _matching(inputs, row, dating)
    lost = inputs.lots["is_lost"].to_numpy() & (inputs.lots["seeds"].to_numpy() > 0)
    found: pd.DataFrame = pairs.loc[lost[pairs["lot"].to_numpy()], ["line", "lot"]]
    return found.reset_index(drop=True)


def _matching(inputs: PlanInputs, row: np.ndarray, dating: Dating) -> pd.DataFrame:
    """Pairs of line and lot that species, material and origin allow, whatever the seed is worth."""
    lines, lots, table = inputs.lines, inputs.lots, inputs.protocols.table
    left = pd.DataFrame(
        {
            "line": np.arange(len(lines)),
            "species_id": lines["species_id"],
            "is_cuttings": table["is_cuttings"].to_numpy()[row],
            "place": asked_place(lines["region_code"], lines["basin"]),
        }
    )
    # Lines that can no longer be in time must not take seed from those that can.
    left = left[dating.in_time & (left["place"] != "") & (lines["wanted"] > 0).to_numpy()]
    offered = offered_places(lots["region_code"], lots["basin"]).rename(columns={"row": "lot"})
    kinds = lots[["species_id", "is_cuttings"]].iloc[offered["lot"]].reset_index(drop=True)
    pairs: pd.DataFrame = left.merge(
        pd.concat([offered, kinds], axis=1), on=["species_id", "is_cuttings", "place"]
    )
    return pairs


def lot_viability(lots: pd.DataFrame, lot: np.ndarray, on: np.ndarray, life_days: Floats) -> Floats:
    """Viability of lots on a day, from the test on: by the viability equation where σ is known, else by life."""
    tested = lots["germination"].to_numpy()[lot]
    days = (on - lots["tested_on"].to_numpy().astype("datetime64[D]")[lot]).astype(np.float64)
    return forecast(tested, days, lots["sigma_days"].to_numpy()[lot], life_days)
