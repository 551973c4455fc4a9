"""The one place where the amount of a lot changes."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import set_committed_value

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Base, Lot
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services import auditing, limits
from nursery.services.ledger.words import amount_text

#: The column of a lot that keeps the balance of each measure.
BALANCE = {Measure.FRUIT: Lot.fruit_mg, Measure.SEED: Lot.amount_mg, Measure.PIECES: Lot.pieces}
#: No lot holds more than this.
MOST = {
    Measure.FRUIT: round(limits.FRUIT_KG.high * 1_000_000),
    Measure.SEED: round(limits.AMOUNT_G.high * 1000),
    Measure.PIECES: round(limits.PIECES.high),
}


def seed_measure(lot: Lot) -> Measure:
    """What the lot's clean seed (or cuttings) is counted in."""
    return Measure.PIECES if lot.amount_mg is None else Measure.SEED


def new_act() -> str:
    """A mark that ties the movements of one act together."""
    return uuid.uuid4().hex


def held(lot: Lot, measure: Measure) -> int:
    """The balance as this session knows it; zero for a measure that the lot is not kept in."""
    return getattr(lot, BALANCE[measure].key) or 0


def held_now(session: Session, lot: Lot, measure: Measure) -> int:
    """The balance in the database, which nobody else can change until this transaction ends."""
    column: Any = BALANCE[measure]
    balance: int | None = session.scalar(select(column).where(Lot.id == lot.id).with_for_update(key_share=True))
    set_committed_value(lot, column.key, balance)
    return balance or 0


def lock_in_order(session: Session, model: type[Base], ids: Iterable[int]) -> None:
    """Take rows that an act will change before anything else, and always in the same order.

    Two acts that want them crosswise would stop each other on PostgreSQL. SQLite lets one transaction write at a
    time anyway.
    """
    wanted = sorted(set(ids))
    if wanted and session.get_bind().dialect.name == "postgresql":
        session.execute(
            select(model.id).where(model.id.in_(wanted)).order_by(model.id).with_for_update(key_share=True)
        )


@contextmanager
def whole_act(session: Session, lots: Iterable[Lot]) -> Iterator[None]:
    """Several movements together: where one is refused, none is made, and the lots read as before."""
    lots = list(lots)
    lock_in_order(session, Lot, [lot.id for lot in lots])
    try:
        with session.begin_nested():
            yield
    except BaseException:
        for lot in lots:
            session.expire(lot, [column.key for column in BALANCE.values()])
        raise


def move(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    kind: MovementKind,
    measure: Measure,
    change: int,
    reason: str = "",
    happened_on: dt.date,
    act: str = "",
    other_lot: Lot | None = None,
    reverses: Movement | None = None,
) -> Movement:
    """Add a movement and change the balance by it, in one statement that cannot take it below zero.

    ``change`` is in milligrams or pieces, below zero for what leaves the lot. The caller has checked the day.

    Raises
    ------
    Invalid
        At ``amount``, when the lot holds less than what would leave it, or is not kept in this measure.
    """
    session.flush()
    column: Any = BALANCE[measure]
    after = session.execute(
        update(Lot)
        .where(Lot.id == lot.id, (column + change).between(0, MOST[measure]))
        .values({column: column + change})
        .returning(column)
        .execution_options(synchronize_session=False)
    ).scalar_one_or_none()
    if after is None:
        raise Invalid({"amount": _refusal(session, lot, measure, change)})
    set_committed_value(lot, column.key, after)
    movement = Movement(
        lot_id=lot.id,
        kind=kind,
        measure=measure,
        change=change,
        reason=reason,
        person=actor,
        happened_on=happened_on,
        act=act or new_act(),
        other_lot_id=other_lot.id if other_lot else None,
        reverses_id=reverses.id if reverses else None,
    )
    session.add(movement)
    auditing.record(session, actor, action="moved", row=lot, details={column.key: [after - change, after]})
    session.flush()
    return movement


def _refusal(session: Session, lot: Lot, measure: Measure, change: int) -> str:
    balance = held_now(session, lot, measure)
    if lot.amount_mg is None and measure is Measure.SEED:
        return _("%(lot)s is kept in pieces. Give the amount in pieces.", lot=lot.code)
    if lot.pieces is None and measure is Measure.PIECES:
        return _("%(lot)s is kept in grams. Give the amount in grams.", lot=lot.code)
    if change > 0:
        return _("A lot holds at most %(most)s. Check the unit.", most=amount_text(measure, MOST[measure]))
    return _(
        "%(lot)s holds %(held)s; %(asked)s cannot leave it. Give less, or recount the lot first.",
        lot=lot.code,
        held=amount_text(measure, balance),
        asked=amount_text(measure, -change),
    )


def check_act(lot: Lot, *, happened_on: dt.date, today: dt.date, amount: int | None = None) -> None:
    """Refuse a day before the collection or after today, and an amount that is none."""
    refused = {}
    if happened_on > today:
        refused["happened_on"] = _("The day lies in the future. Write it down once it has happened.")
    elif happened_on < lot.collected_on:
        refused["happened_on"] = _(
            "%(lot)s was collected on %(day)s; nothing happened to it before. Correct the day.",
            lot=lot.code,
            day=format_date(lot.collected_on),
        )
    if amount is not None and amount <= 0:
        refused["amount"] = _("Give an amount above zero.")
    if refused:
        raise Invalid(refused)
