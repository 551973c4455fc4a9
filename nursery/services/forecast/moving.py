"""Plants of one target that can be spared, for another that is short: where the rules of origin allow it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy.orm import Session

from nursery.errors import Conflict, NotFound
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Batch, Lot, Site, Target
from nursery.planning.origin.words import Verdict
from nursery.services import records
from nursery.services.batches.changing import change_batch
from nursery.services.batches.origins import batch_lots
from nursery.services.batches.splitting import split
from nursery.services.forecast.gathering import Known, Moment
from nursery.services.forecast.promises import Forecasts, Standing, TargetForecast, read_forecasts
from nursery.services.health.quarantine import standing_quarantines
from nursery.services.origin.gathering import read_lots, read_sites
from nursery.services.origin.verdicts import Cell, cells

_WORST = {Verdict.PASS: 0, Verdict.CAUTION: 1, Verdict.STOP: 2}


@dataclass(frozen=True, slots=True)
class Move:
    """Plants of one batch that could go to another target."""

    batch_id: int
    code: str
    #: Whom they are promised to now; None for a batch that anyone may have.
    giver: TargetForecast | None
    #: Ready plants that can be counted on, and plants (or trays, before any count) that would be taken for them.
    ready: int
    plants: int
    trays: int
    #: Whether the whole batch goes.
    is_whole: bool
    ready_on: dt.date | None
    #: The worst verdict on its lots at the site.
    cell: Cell


def offers_to(session: Session, taker: TargetForecast, found: Forecasts, *, today: dt.date) -> list[Move]:
    """What other targets of the species can spare for one that is short, the largest first.

    Left out are batches that the rules of origin or a person keep from the site, those in quarantine, and those
    that will be ready after the planting window.
    """
    if not taker.lacking:
        return []
    holders = _holders(found, taker)
    ids = [batch_id for batch_id, _giver in holders]
    allowed, shut = _allowed(session, ids, taker.site_id, today), standing_quarantines(session, ids)
    rows = {batch.id: at for at, batch in enumerate(found.known.batches)}
    days, moments = found.known.ready_days(today), found.known.today()
    moves = []
    for batch_id, giver in holders:
        at, ready_on = rows[batch_id], days[rows[batch_id]]
        late = ready_on is not None and ready_on > taker.closes_on
        if batch_id in shut or batch_id not in allowed or late:
            continue
        move = _move(found.known, at, moments[at], giver, taker, ready_on, allowed[batch_id])
        if move is not None:
            moves.append(move)
    return sorted(moves, key=lambda move: (-move.ready, move.code))


def _holders(found: Forecasts, taker: TargetForecast) -> list[tuple[int, TargetForecast | None]]:
    givers = [
        other
        for other in found.targets
        if other.species_id == taker.species_id
        and other.target_id != taker.target_id
        and other.standing is Standing.SPARE
    ]
    promised = [(one.batch_id, giver) for giver in givers for _code, one in giver.batches if one.expected > 0]
    return [*promised, *((one.batch_id, None) for _code, one in found.free.get(taker.species_id, ()))]


def _allowed(session: Session, batch_ids: Sequence[int], site_id: int, today: dt.date) -> dict[int, Cell]:
    """Batches all of whose lots may be planted at the site, with the worst verdict on one of them."""
    shares = batch_lots(session, batch_ids)
    wanted = sorted({lot_id for each in shares.values() for lot_id in each})
    if not wanted:
        return {}
    lots, places = read_lots(session, Lot.id.in_(wanted)), read_sites(session, today, Site.id == site_id)
    every = np.arange(len(lots))
    judged = {cell.lot_id: cell for cell in cells(session, lots, places, every, np.zeros(len(lots), np.int64))}
    found: dict[int, Cell] = {}
    for batch_id, each in shares.items():
        own = [judged[lot_id] for lot_id in each if lot_id in judged]
        if own and len(own) == len(each) and all(cell.allowed for cell in own):
            found[batch_id] = max(own, key=lambda cell: _WORST[cell.verdict])
    return found


def _move(
    known: Known, at: int, moment: Moment, giver: TargetForecast | None, taker: TargetForecast,
    ready_on: dt.date | None, cell: Cell,
) -> Move | None:  # fmt: skip
    """As much as the giver can spare and the taker lacks."""
    batch = known.batches[at]
    assurance = max(taker.assurance, giver.assurance if giver else 0.0)
    held = int(known.outlook([moment]).quantile(1 - assurance)[0, 0])
    ready = min(held, taker.lacking, giver.spare if giver else held)
    if ready < 1:
        return None
    share = ready / held
    # All that is left over goes along with the last plants that can be counted on.
    is_whole = ready == held
    plants = 0 if not batch.alive else batch.alive if is_whole else math.ceil(batch.alive * share)
    trays = batch.trays if is_whole else math.ceil(batch.trays * share)
    if not is_whole and (plants >= batch.alive if batch.alive else trays >= batch.trays):
        return None
    return Move(batch.id, batch.code, giver, ready, plants, trays, is_whole, ready_on, cell)


def move_to(session: Session, actor: str, *, batch_id: int, target_id: int, today: dt.date) -> Batch:
    """Give a short target what another can spare of a batch: the batch itself, or a part split from it.

    Raises
    ------
    NotFound
        Without such a batch or target.
    Conflict
        Where nothing can be spared any more, or the rules of origin keep it from the site.
    """
    batch, target = records.get(session, Batch, batch_id), records.get(session, Target, target_id)
    found = read_forecasts(session, today=today, species_id=target.species_id)
    taker = found.target(target.id)
    if taker is None:
        raise NotFound(_("Nothing grows for this target, so that nothing is known to be short."))
    moves = {move.batch_id: move for move in offers_to(session, taker, found, today=today)}
    move = moves.get(batch.id)
    if move is None:
        raise Conflict(
            _(
                "%(batch)s has nothing that can go to %(site)s: it is needed where it is promised, or the rules of"
                " origin, a decision or a quarantine keep it back. Look at the ways out again.",
                batch=batch.code,
                site=taker.site_name,
            )
        )
    if move.is_whole:
        return change_batch(session, actor, row=batch, values={"target_id": target.id}, today=today)
    reason = _("%(plants)s ready plants for %(site)s", plants=format_number(move.ready), site=taker.site_name)
    return split(
        session, actor, batch=batch, plants=move.plants, trays=None if move.plants else move.trays,
        happened_on=today, today=today, target_id=target.id, reason=reason,
    )  # fmt: skip


def takers_of(session: Session, giver: TargetForecast, found: Forecasts, *, today: dt.date) -> list[
    tuple[TargetForecast, Move]
]:  # fmt: skip
    """Targets that are short and could have what one can spare."""
    short = [one for one in found.targets if one.is_short and one.species_id == giver.species_id]
    return [
        (taker, move)
        for taker in short
        for move in offers_to(session, taker, found, today=today)
        if move.giver is not None and move.giver.target_id == giver.target_id
    ]
