"""Part of a lot becomes a lot of its own and keeps its identity."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import inspect
from sqlalchemy.orm import Session

from nursery.models import Lot, Species
from nursery.models.movements import Measure, MovementKind
from nursery.services import records
from nursery.services.codes import check_lot_code, next_lot_code
from nursery.services.ledger.moving import BALANCE, check_act, move, new_act, seed_measure, whole_act
from nursery.services.lot_storage import storage_changes

#: What a new lot does not take over from the one it was taken from.
_OWN = {"id", "version", "created_at", "archived_at", "code", "notes"} | {
    column.key for column in BALANCE.values()
}


def split_lot(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    amount: int,
    measure: Measure | None = None,
    code: str = "",
    storage_place_id: int | None = None,
    reason: str = "",
    happened_on: dt.date,
    today: dt.date,
) -> Lot:
    """A new lot of ``amount`` milligrams or pieces of this one: same origin, year, figures, permit and hold."""
    check_act(lot, happened_on=happened_on, today=today, amount=amount)
    measure = measure or seed_measure(lot)
    columns = inspect(Lot).columns.keys()
    values = {name: getattr(lot, name) for name in columns if name not in _OWN}
    if storage_place_id is not None:
        wanted = {"storage_place_id": storage_place_id, "stored_on": None}
        values |= wanted | storage_changes(session, {lot: wanted}, happened_on)[lot]
    act = new_act()
    with whole_act(session, [lot]):
        part = records.create(
            session, actor, Lot, {**values, **empty_balances(lot), "code": code_for(session, lot, code)}
        )
        for one, other, change in ((lot, part, -amount), (part, lot, amount)):
            move(
                session, actor, lot=one, kind=MovementKind.SPLIT, measure=measure, change=change, reason=reason,
                happened_on=happened_on, act=act, other_lot=other,
            )  # fmt: skip
    return part


def empty_balances(like: Lot) -> dict[str, int | None]:
    """Nothing, in the unit that another lot is kept in."""
    return {"amount_mg": None, "pieces": 0} if like.amount_mg is None else {"amount_mg": 0, "pieces": None}


def code_for(session: Session, like: Lot, typed: str) -> str:
    """The code typed, else the next one of the species and year."""
    if typed:
        return check_lot_code(typed)
    name = session.get_one(Species, like.species_id).scientific_name
    return next_lot_code(session, Lot.code, name, like.ripening_year)
