"""Which lots may serve which line, in which order, and what their seed is worth on the day of sowing."""

from __future__ import annotations

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.keeping import forecast
from nursery.planning.origin.rules import CAUTION, STOP, Judgement, judge
from nursery.planning.plan_dates import Dating
from nursery.planning.plan_inputs import PlanInputs

#: Seed that keeps less than this share of its tested viability until sowing cannot live that long: a lot is
#: drawn only within its life in store, which the catalogue gives as the time in which viability halves. Own
#: convention, no source.
LEAST_SHARE_ALIVE = 0.5
#: A lot that will be dead a year after this sowing is perishable: it is used first.
_YEAR = np.timedelta64(365, "D")


def offers_table(inputs: PlanInputs, row: np.ndarray, dating: Dating) -> pd.DataFrame:
    """Pairs of line and lot that origin and life allow, in the order in which each line would ask.

    Order: the perishable first, then the nearest, then the oldest.

    Returns
    -------
    DataFrame
        The columns of `judged_pairs`, and ``rank`` within the line.
    """
    return ranked_offers(judged_pairs(inputs, row, dating))


def ranked_offers(pairs: pd.DataFrame) -> pd.DataFrame:
    """Of judged pairs those that may be drawn, as `offers_table` has them."""
    chosen: pd.DataFrame = pairs[pairs["is_allowed"] & pairs["is_alive"] & ~pairs["is_lost"]].sort_values(
        ["line", "perishable", "distance_m", "collected_on", "lot_id"], ascending=[True, False, True, True, True]
    )
    chosen = chosen.reset_index(drop=True)
    chosen["rank"] = chosen.groupby("line").cumcount()
    return chosen


def judged_pairs(inputs: PlanInputs, row: np.ndarray, dating: Dating) -> pd.DataFrame:
    """Every pair of a line and a lot of its species and material that holds seed, and what speaks for and against.

    Returns
    -------
    DataFrame
        ``line, lot`` (positions), ``lot_id, collected_on``; ``viability`` on the day of sowing, ``is_alive``,
        ``perishable``, ``is_lost`` (killed in store); ``verdict`` (level), ``stops`` (a bit for each rule, by its
        column), ``cautions`` (count), ``source``, ``distance_m``; ``is_forbidden``, ``is_overridden``,
        ``decision_id`` (0 for none), ``pinned`` plants (0 for none), ``before``, ``before_that`` plants;
        ``is_allowed``: neither stopped nor forbidden.
    """
    lines, lots, table = inputs.lines, inputs.lots, inputs.protocols.table
    pairs = _matching(inputs, row, dating)
    line, lot = pairs["line"].to_numpy(), pairs["lot"].to_numpy()
    sow_on = dating.sow_on[line]
    life = table["life_days"].to_numpy()[row][line]
    viability = lot_viability(lots, lot, sow_on, life)
    tested = lots["germination"].to_numpy()[lot]
    pairs["viability"] = viability
    pairs["is_alive"] = (viability >= LEAST_SHARE_ALIVE * tested) & (viability > 0)
    pairs["perishable"] = lot_viability(lots, lot, sow_on + _YEAR, life) < LEAST_SHARE_ALIVE * tested
    pairs["is_lost"] = lots["is_lost"].to_numpy()[lot]
    collected_on = lots["collected_on"].to_numpy()[lot]
    # Seed of a trial is still to be collected: it serves only lines whose work begins afterwards.
    pairs["is_alive"] &= collected_on <= dating.start[line]
    pairs["collected_on"] = collected_on
    pairs["lot_id"] = lots["lot_id"].to_numpy()[lot]
    pairs["target_id"] = lines["target_id"].to_numpy()[line]
    return _decided(inputs, _judged(inputs, pairs))


def _judged(inputs: PlanInputs, pairs: pd.DataFrame) -> pd.DataFrame:
    """The rules are asked once for each lot at each site, however many lines the site has."""
    origin = inputs.origin
    site = origin.site[pairs["line"].to_numpy()]
    places = max(len(origin.sites), 1)
    once, of_pair = np.unique(pairs["lot"].to_numpy() * places + site, return_inverse=True)
    lot, at = np.divmod(once, places)
    found = judge(origin.lots, origin.sites, lot, at, origin.rules, accepts=origin.accepts)
    bits = (1 << np.arange(found.findings.shape[1], dtype=np.int64))[None, :]
    held = origin.lots["is_held"].to_numpy(np.bool_)[lot]
    columns = {
        "verdict": found.verdict.astype(np.int64),
        "stops": ((found.findings == STOP) * bits).sum(1),
        "cautions": (found.findings == CAUTION).sum(1),
        "source": found.source,
        "distance_m": found.distance_m,
        "is_held": held,
    }
    return pairs.assign(site=site, **{name: values[of_pair] for name, values in columns.items()})


def _decided(inputs: PlanInputs, pairs: pd.DataFrame) -> pd.DataFrame:
    """Pins, what is forbidden, and what is allowed despite a stop; and what the plan in force draws."""
    origin = inputs.origin
    decisions = origin.decisions.assign(site=_rows(origin.sites["site_id"], origin.decisions["site_id"]))
    of_site = ["lot_id", "site"]
    forbidden = _decision(pairs, decisions[decisions["kind"] == "forbid"], of_site)
    overridden = _decision(pairs, decisions[decisions["kind"] == "override"], of_site)
    pins = decisions[decisions["kind"] == "pin"]
    pinned = _decision(pairs, pins, ["lot_id", "target_id"])
    plants = pins.set_index("decision_id")["plants"].reindex(pinned).fillna(np.inf).to_numpy()
    stopped = pairs["verdict"].to_numpy() >= STOP
    is_overridden = stopped & (overridden > 0)
    return pairs.assign(
        is_forbidden=forbidden > 0,
        is_overridden=is_overridden,
        decision_id=np.where(pinned > 0, pinned, np.where(is_overridden, overridden, forbidden)),
        pinned=np.where(pinned > 0, plants, 0.0),
        before=_plants(pairs, origin.before),
        before_that=_plants(pairs, origin.before_that),
        # A stop that a person lifted is still a doubt: seed without one goes first.
        cautions=pairs["cautions"] + np.where(is_overridden, _count(pairs["stops"]), 0),
        # A lot on hold is released on its own page, whatever a set of rules says of permits.
        is_allowed=(~stopped | is_overridden) & ~(forbidden > 0) & ~pairs["is_held"],
    )


def _plants(pairs: pd.DataFrame, shared_out: pd.DataFrame) -> Floats:
    """What an earlier plan shared out to each pair."""
    on = ["target_id", "lot_id"]
    return np.asarray(pairs[on].merge(shared_out, how="left", on=on)["plants"].fillna(0.0).to_numpy(np.float64))


def _decision(pairs: pd.DataFrame, decisions: pd.DataFrame, on: list[str]) -> Ints:
    """Id of the decision on each pair, 0 for none."""
    found = pairs[on].merge(decisions[[*on, "decision_id"]].drop_duplicates(on), how="left", on=on)
    return np.asarray(found["decision_id"].fillna(0).to_numpy(np.int64))


def _rows(ids: pd.Series, wanted: pd.Series) -> Ints:
    return np.asarray(pd.Index(ids).get_indexer(wanted), np.int64)


def _count(bits: pd.Series) -> Ints:
    return np.asarray(np.bitwise_count(bits.to_numpy(np.int64)), np.int64)


def judgement_of(inputs: PlanInputs, line: Ints, lot: Ints) -> Judgement:
    """What the rules say of some pairs, with all that is needed to tell why."""
    origin = inputs.origin
    return judge(origin.lots, origin.sites, lot, origin.site[line], origin.rules, accepts=origin.accepts)


def _matching(inputs: PlanInputs, row: np.ndarray, dating: Dating) -> pd.DataFrame:
    """Pairs of line and lot by species and material, whatever the seed is worth and wherever it is from."""
    lines, lots, table = inputs.lines, inputs.lots, inputs.protocols.table
    left = pd.DataFrame(
        {
            "line": np.arange(len(lines)),
            "species_id": lines["species_id"],
            "is_cuttings": table["is_cuttings"].to_numpy()[row],
        }
    )
    # Lines that can no longer be in time must not take seed from those that can.
    left = left[dating.in_time & (lines["wanted"] > 0).to_numpy()]
    held = lots[["species_id", "is_cuttings"]].assign(lot=np.arange(len(lots)))
    held = held[lots["seeds"].to_numpy() > 0]
    pairs: pd.DataFrame = left.merge(held, on=["species_id", "is_cuttings"])
    return pairs.drop(columns=["species_id", "is_cuttings"])


def lot_viability(lots: pd.DataFrame, lot: np.ndarray, on: np.ndarray, life_days: Floats) -> Floats:
    """Viability of lots on a day, from the test on: by the viability equation where σ is known, else by life."""
    tested = lots["germination"].to_numpy()[lot]
    days = (on - lots["tested_on"].to_numpy().astype("datetime64[D]")[lot]).astype(np.float64)
    return forecast(tested, days, lots["sigma_days"].to_numpy()[lot], life_days)
