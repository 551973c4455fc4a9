"""What a lot is worth: pure live seed and viable seeds, from its own tests or else from the catalogue."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.catalog.entries import SpeciesEntry
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.services.catalogue import effective_entries


@dataclass(frozen=True)
class Known:
    """A figure and whether it was measured on this lot."""

    value: float
    own: bool


@dataclass(frozen=True)
class Quality:
    """Figures of a seed lot; ``germination_today`` has aged since the test (or the collection)."""

    purity: Known
    germination: Known
    tsw_g: Known
    pure_live_seed: float
    seeds_per_kg: float
    viable_per_kg: float
    #: Days per probit of the viability equation, where its constants, the moisture and the temperature are known.
    sigma_days: float | None
    life_days: float
    days: int
    germination_today: float
    #: Seeds of the lot that can still germinate today.
    viable_seeds: float


def entry_of(session: Session, lot: Lot) -> SpeciesEntry | None:
    """The lot's species with this nursery's own figures."""
    return effective_entries(session, [lot.species_id]).get(lot.species_id)


def quality_of(lot: Lot, entry: SpeciesEntry, today: dt.date) -> Quality | None:
    """The quality of a seed lot; None for cuttings, and where nobody knows the germination."""
    # pandas and scipy are needed where a lot is looked at; the pages start without them.
    from nursery.planning.keeping import forecast  # noqa: PLC0415 -- slow import
    from nursery.planning.seedtests import pure_live_seed, seeds_per_kg  # noqa: PLC0415 -- slow import
    from nursery.services import lot_figures  # noqa: PLC0415 -- slow import

    if lot.material is not Material.SEED:
        return None
    if lot.germination is None and lot_figures.usual_germination(entry, "seed") is None:
        return None
    figures = lot_figures.lot_figures(lot_figures.lot_row(lot), {lot.species_id: entry})
    row = figures.iloc[0]
    purity, germination, tsw = float(row["purity"]), float(row["germination"]), float(row["tsw_g"])
    sigma, life = float(row["sigma_days"]), float(row["life_days"])
    days = (today - lot_figures.day_of(row["tested_on"])).days
    live, per_kg = float(pure_live_seed(purity, germination)), float(seeds_per_kg(tsw))
    left = float(forecast(germination, days, sigma, life))
    return Quality(
        purity=Known(purity, own=lot.purity is not None or lot.amount_mg is None),
        germination=Known(germination, own=lot.germination is not None),
        tsw_g=Known(tsw, own=lot.tsw_g is not None),
        pure_live_seed=live,
        seeds_per_kg=per_kg,
        viable_per_kg=per_kg * live,
        sigma_days=None if math.isnan(sigma) else sigma,
        life_days=life,
        days=days,
        germination_today=left,
        viable_seeds=int(row["seeds"]) * left,
    )
