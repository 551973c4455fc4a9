"""What the rules of origin and people's decisions say of batches at a site."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Lot, Site
from nursery.planning.origin.words import Verdict
from nursery.services.batches.origins import batch_lots
from nursery.services.origin.gathering import read_lots, read_sites
from nursery.services.origin.verdicts import Cell, cells


@dataclass(frozen=True, slots=True)
class Judged:
    """Verdicts on each lot in a batch at one site."""

    cells: Sequence[Cell] = ()

    @property
    def allowed(self) -> bool:
        """Whether all of its lots may be planted there; a batch of unknown origin may not."""
        return bool(self.cells) and all(cell.allowed for cell in self.cells)

    @property
    def worst(self) -> Cell | None:
        """The verdict that weighs most."""
        weight = (Verdict.PASS, Verdict.CAUTION, Verdict.STOP)
        return max(self.cells, key=lambda cell: (not cell.allowed, weight.index(cell.verdict)), default=None)

    @property
    def tone(self) -> str:
        """The tone of the design: a stop that was decided upon is a caution."""
        if not self.allowed:
            return "stop"
        return "ok" if all(cell.verdict is Verdict.PASS for cell in self.cells) else "caution"

    @property
    def reason(self) -> str:
        """What speaks against it, in words; empty for a plain pass."""
        worst = self.worst
        if worst is None:
            return _("nobody knows where its seed came from")
        if not worst.allowed:
            return worst.against
        return "" if worst.verdict is Verdict.PASS else ": ".join(filter(None, (worst.decided, worst.because)))


def judge_batches(
    session: Session, batch_ids: Collection[int], site_id: int, *, today: dt.date
) -> Mapping[int, Judged]:
    """By batch id, in a fixed number of queries."""
    shares = batch_lots(session, batch_ids)
    lot_ids = {lot_id for found in shares.values() for lot_id in found}
    if not lot_ids:
        return {batch_id: Judged() for batch_id in shares}
    lots, places = read_lots(session, Lot.id.in_(lot_ids)), read_sites(session, today, Site.id == site_id)
    if lots.empty or places.table.empty:
        return {batch_id: Judged() for batch_id in shares}
    every = np.arange(len(lots))
    found = {cell.lot_id: cell for cell in cells(session, lots, places, every, np.zeros(len(lots), np.int64))}
    return {
        batch_id: Judged(tuple(found[lot_id] for lot_id in lots_of if lot_id in found))
        for batch_id, lots_of in shares.items()
    }
