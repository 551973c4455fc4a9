"""What lots are taken to hold, for plans and pages alike: own figures first, what they lack from the species."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import numpy as np

from nursery.catalog import SpeciesEntry
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.planning.harm import harm_of
from nursery.planning.heavy import pd
from nursery.planning.storage import UNIVERSAL_CH, UNIVERSAL_CQ, sigma_days

#: A species that no protocol raises from this part has no germination (rooting) of its own. No plan line can ask
#: for such a lot, so the value only fills the table.
UNKNOWN_GERMINATION = 0.5
_USUAL = ("tsw_g", "purity", "germination", "rooting", "seed_life", "cuttings_life", "ke", "cw", "ch", "cq")


def lot_row(lot: Lot) -> pd.DataFrame:
    """The table of one lot that `lot_figures` takes."""
    place = lot.storage_place
    values = {
        "species_id": lot.species_id, "material": lot.material, "amount_mg": lot.amount_mg, "pieces": lot.pieces,
        "purity": lot.purity, "tsw_g": lot.tsw_g, "germination": lot.germination, "tested_on": lot.tested_on,
        "collected_on": lot.collected_on, "moisture_pct": lot.moisture_pct,
        "temperature_c": place.temperature_c if place else None, "moisture_on": lot.moisture_on,
        "stored_on": lot.stored_on, "harmed_on": lot.harmed_on,
    }  # fmt: skip
    return pd.DataFrame({name: pd.Series([value], dtype=object) for name, value in values.items()})


def lot_figures(lots: pd.DataFrame, entries: Mapping[int, SpeciesEntry]) -> pd.DataFrame:
    """Fill what lots do not tell from their species, and count the seeds that may be drawn.

    ``lots`` has the columns of `lot_row`, and any others, which stay. The result has ``tsw_g, purity,
    germination, seeds, is_cuttings, is_tested, tested_on, collected_on, sigma_days, life_days, harm`` filled:
    ``tested_on`` is the day from which the seed ages, ``sigma_days`` is NaN where the viability equation cannot
    be used, ``harm`` says what killed the seed (`nursery.planning.harm.Harm`). Counted lots are pure: their
    ``purity`` is 1.
    """
    kept = {key: _usual(entry) for key, entry in entries.items()}
    usual = pd.DataFrame([kept[key] for key in lots["species_id"]], columns=list(_USUAL), index=lots.index)
    cuttings = (lots["material"] == Material.CUTTINGS).to_numpy()
    germination = lots["germination"].astype(np.float64)
    tsw = lots["tsw_g"].astype(np.float64).fillna(usual["tsw_g"])
    purity = lots["purity"].astype(np.float64).fillna(usual["purity"])
    usual_germination = pd.Series(np.where(cuttings, usual["rooting"], usual["germination"]), index=lots.index)
    milligrams, pieces = (pd.to_numeric(lots[name]).astype(np.float64) for name in ("amount_mg", "pieces"))
    by_weight = np.floor(milligrams.fillna(0.0) * purity / tsw + 1e-9)
    return lots.assign(
        is_cuttings=cuttings,
        seeds=np.where(pieces.notna(), pieces.fillna(0.0), by_weight).astype(np.int64),
        tsw_g=tsw,
        purity=np.where(pieces.notna(), 1.0, purity),
        germination=germination.fillna(usual_germination).fillna(UNKNOWN_GERMINATION),
        is_tested=germination.notna().to_numpy(),
        tested_on=_days(lots["tested_on"].fillna(lots["collected_on"])),
        collected_on=_days(lots["collected_on"]),
        sigma_days=_sigma(lots, usual, cuttings),
        life_days=np.where(cuttings, usual["cuttings_life"], usual["seed_life"]).astype(np.float64),
        harm=_harm(lots, entries, cuttings),
    )


def usual_germination(entry: SpeciesEntry, part: str) -> float | None:
    """Of the first protocol that starts from this part, ``seed`` or ``cuttings``; None where none does."""
    return next((each.rates["germination"].mean for each in entry.protocols if each.part == part), None)


def _usual(entry: SpeciesEntry) -> tuple[float, ...]:
    """A species' figures in the order of ``_USUAL``."""
    storage = entry.storage
    figures = (
        entry.seed.thousand_seed_weight_g, entry.seed.purity,
        usual_germination(entry, "seed"), usual_germination(entry, "cuttings"),
        entry.life_days("seed"), entry.life_days("cuttings"), storage.ke, storage.cw,
        UNIVERSAL_CH if storage.ch is None else storage.ch, UNIVERSAL_CQ if storage.cq is None else storage.cq,
    )  # fmt: skip
    return tuple(np.nan if figure is None else figure for figure in figures)


def _sigma(lots: pd.DataFrame, usual: pd.DataFrame, cuttings: np.ndarray) -> np.ndarray:
    """Days per probit where the viability equation's constants, the moisture and the temperature are known."""
    moisture, warmth = lots["moisture_pct"].astype(np.float64), lots["temperature_c"].astype(np.float64)
    known = (usual["ke"].notna() & usual["cw"].notna() & moisture.notna() & warmth.notna()).to_numpy() & ~cuttings
    result = np.full(len(lots), np.nan)
    result[known] = sigma_days(
        moisture[known], warmth[known], **{name: usual[name][known] for name in ("ke", "cw", "ch", "cq")}
    )
    return result


def _harm(lots: pd.DataFrame, entries: Mapping[int, SpeciesEntry], cuttings: np.ndarray) -> np.ndarray:
    """A lot without a day of its own has been where it is since it was collected."""
    tender = {key: entry.storage.behaviour == "recalcitrant" for key, entry in entries.items()}
    stored_on = lots["stored_on"].fillna(lots["collected_on"])
    found = lots["germination"].astype(np.float64).to_numpy() > 0
    return harm_of(
        np.array([tender[key] for key in lots["species_id"]], np.bool_) & ~cuttings,
        temperature_c=lots["temperature_c"].astype(np.float64).to_numpy(),
        moisture_pct=lots["moisture_pct"].astype(np.float64).to_numpy(),
        stored_on=_days(stored_on),
        moisture_on=_days(lots["moisture_on"].fillna(stored_on)),
        harmed_on=_days(lots["harmed_on"]),
        proven_on=_days(lots["tested_on"].where(found)),
    )


def _days(values: pd.Series) -> np.ndarray:
    return pd.to_datetime(values).to_numpy().astype("datetime64[s]")


def day_of(value: np.datetime64 | pd.Timestamp) -> dt.date:
    """A table's day as Python's own."""
    return pd.Timestamp(value).date()
