"""The ledger of supplies: rows are only added, and what is there never falls below nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Supply, SupplyMovement
from nursery.models.supplies import SupplyMovementKind
from nursery.services import acting, auditing, limits
from nursery.services.limits import Bounds
from nursery.services.supplies.words import amount_text

AMOUNT = Bounds(0, 10_000_000)
COST = Bounds(0, 10_000_000)
#: Amounts are kept to a millilitre, a gram; a ledger of floats must not drift.
DIGITS = 3


@dataclass(frozen=True, slots=True)
class Entry:
    """One movement and what there was after it."""

    row: SupplyMovement
    balance: float


def balance(session: Session, supply: Supply) -> float:
    """What there is."""
    summed = session.scalar(
        select(func.coalesce(func.sum(SupplyMovement.change), 0.0)).where(SupplyMovement.supply_id == supply.id)
    )
    return round(float(summed or 0.0), DIGITS)


def last_count(session: Session, supply: Supply) -> dt.date | None:
    """The day to which the last count takes everything into account; none where nobody counted yet."""
    return session.scalar(
        select(func.max(SupplyMovement.happened_on)).where(
            SupplyMovement.supply_id == supply.id, SupplyMovement.kind == SupplyMovementKind.COUNTED
        )
    )


def balances(session: Session) -> Mapping[int, float]:
    """What there is of every supply that has a ledger, in one query."""
    rows = session.execute(
        select(SupplyMovement.supply_id, func.sum(SupplyMovement.change)).group_by(SupplyMovement.supply_id)
    )
    return {supply_id: round(float(summed), DIGITS) for supply_id, summed in rows}


def move(
    session: Session, actor: str, *, supply: Supply, kind: SupplyMovementKind, amount: float, happened_on: dt.date,
    today: dt.date, cost: float | None = None, reason: str = "", batch_id: int | None = None,
) -> SupplyMovement | None:  # fmt: skip
    """Write down what was counted in all, came, was used or thrown away; None where a count changes nothing.

    Raises
    ------
    Invalid
        At ``amount`` for none or more than there is, at ``happened_on`` for a day to come or one that a count has
        seen already, at ``cost`` where nothing came, at ``reason`` where something was thrown away without one.
    """
    # The row is locked, so that two people cannot take the same stock.
    session.execute(select(Supply.id).where(Supply.id == supply.id).with_for_update())
    held = balance(session, supply)
    _check(
        supply, kind, amount, held, happened_on=happened_on, today=today, cost=cost, reason=reason,
        counted_on=last_count(session, supply),
    )  # fmt: skip
    change = _change(kind, round(amount, DIGITS), held)
    if change == 0:
        return None
    row = SupplyMovement(
        supply_id=supply.id, kind=kind, change=change, batch_id=batch_id, happened_on=happened_on, cost=cost,
        reason=reason.strip(), person=actor,
    )  # fmt: skip
    session.add(row)
    acting.must_reach(session, row)  # it may be used up by another nursery's batch
    auditing.record(
        session, actor, action="moved", row=supply, details={"stock": [held, round(held + change, DIGITS)]}
    )
    return row


def _change(kind: SupplyMovementKind, amount: float, held: float) -> float:
    if kind is SupplyMovementKind.COUNTED:
        return round(amount - held, DIGITS)
    return amount if kind is SupplyMovementKind.RECEIVED else -amount


def _check(
    supply: Supply, kind: SupplyMovementKind, amount: float, held: float, *, happened_on: dt.date, today: dt.date,
    cost: float | None, reason: str, counted_on: dt.date | None,
) -> None:  # fmt: skip
    refused: dict[str, str] = {}
    counted = kind is SupplyMovementKind.COUNTED
    if told := AMOUNT.refusal(amount):
        refused["amount"] = told
    elif not counted and round(amount, DIGITS) <= 0:
        refused["amount"] = _("Give an amount above zero.")
    elif kind in {SupplyMovementKind.USED, SupplyMovementKind.DISCARDED} and round(amount - held, DIGITS) > 0:
        refused["amount"] = _(
            "There are %(held)s of %(supply)s; %(asked)s cannot leave. Correct the amount, or count the stock"
            " first.",
            held=amount_text(held, supply.unit),
            supply=supply.name,
            asked=amount_text(amount, supply.unit),
        )
    if cost is not None and (told := COST.refusal(cost)):
        refused["cost"] = told
    elif cost is not None and kind is not SupplyMovementKind.RECEIVED:
        # “Counted” stands first in the list: a delivery left so would become all that there is, and its price go.
        refused["cost"] = _("Only what was received is paid for. Say that it was received, or leave this empty.")
    if happened_on > today:
        refused["happened_on"] = _(
            "%(day)s is still to come. Write it down on the day.", day=format_date(happened_on)
        )
    elif happened_on.year < limits.SEASON.low:
        refused["happened_on"] = _("%(day)s is too long ago. Correct the date.", day=format_date(happened_on))
    elif counted_on is not None and happened_on < counted_on:
        refused["happened_on"] = _(
            "All that there was on %(day)s was counted, and what happened before is in that count. Correct the"
            " day, or count again.",
            day=format_date(counted_on),
        )
    if kind is SupplyMovementKind.DISCARDED and not reason.strip():
        refused["reason"] = _("Say why it was thrown away.")
    if refused:
        raise Invalid(refused)


def read_stock_ledger(session: Session, supply: Supply, most: int = 100) -> Sequence[Entry]:
    """The newest movements first, each with what there was after it."""
    rows = session.scalars(
        select(SupplyMovement)
        .where(SupplyMovement.supply_id == supply.id)
        .order_by(SupplyMovement.id.desc())
        .limit(most)
    ).all()
    left = balance(session, supply)
    found = []
    for row in rows:
        found.append(Entry(row, round(left, DIGITS)))
        left -= row.change
    return found
