"""Whether the plants of a batch may go to a site, by the rules of origin and what people decided."""

from __future__ import annotations

import datetime as dt

import numpy as np
from sqlalchemy.orm import Session

from nursery.models import Batch, Lot, Site
from nursery.services.batches.origins import batch_lots
from nursery.services.origin.gathering import read_lots, read_sites
from nursery.services.origin.verdicts import Cell, cells


def kept_from(session: Session, batch: Batch, site_id: int, today: dt.date) -> list[Cell]:
    """Of each lot in the batch that may not be planted at the site, what keeps it from there."""
    lot_ids = batch_lots(session, [batch.id]).get(batch.id, {})
    lots, places = read_lots(session, Lot.id.in_(lot_ids)), read_sites(session, today, Site.id == site_id)
    if lots.empty or places.table.empty:
        return []
    every = np.arange(len(lots))
    judged = cells(session, lots, places, every, np.zeros(len(lots), np.int64))
    return [cell for cell in judged if not cell.allowed]
