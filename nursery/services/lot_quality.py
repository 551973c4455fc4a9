"""What a lot is worth: pure live seed and viable seeds, from its own tests or else from the catalogue."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import overload

from sqlalchemy.orm import Session

from nursery.catalog.entries import SpeciesEntry
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.planning.seedtests import pure_live_seed, seeds_per_kg
from nursery.planning.storage import life_viability
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
    germination = _known(lot.germination, _germination(entry))
    if lot.material is not Material.SEED or germination is None:
        return None
    purity = _known(lot.purity, entry.seed.purity)
    tsw = _known(lot.tsw_g, entry.seed.thousand_seed_weight_g)
    live = float(pure_live_seed(purity.value, germination.value))
    per_kg = float(seeds_per_kg(tsw.value))
    life = entry.life_days("seed")
    days = (today - (lot.tested_on or lot.collected_on)).days
    left = float(life_viability(germination.value, days, life))
    seeds = lot.pieces if lot.amount_mg is None else lot.amount_mg / 1e6 * per_kg * purity.value
    return Quality(
        purity=purity,
        germination=germination,
        tsw_g=tsw,
        pure_live_seed=live,
        seeds_per_kg=per_kg,
        viable_per_kg=per_kg * live,
        life_days=life,
        days=days,
        germination_today=left,
        viable_seeds=(seeds or 0) * left,
    )


def _germination(entry: SpeciesEntry) -> float | None:
    """Of the first protocol that sows seed; a species raised from cuttings alone has none."""
    return next((each.rates["germination"].mean for each in entry.protocols if each.part == "seed"), None)


@overload
def _known(own: float | None, catalogue: float) -> Known: ...
@overload
def _known(own: float | None, catalogue: float | None) -> Known | None: ...
def _known(own: float | None, catalogue: float | None) -> Known | None:
    if own is not None:
        return Known(own, own=True)
    return None if catalogue is None else Known(catalogue, own=False)
