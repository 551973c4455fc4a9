"""What people did with the demo's seed lately: mixed it, split it, and took a mistake back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.models.movements import Measure, MovementKind
from nursery.services.demo.tables import rows
from nursery.services.ledger import judge_lots, mix_lots, reverse_act, split_lot, take_from_lot

#: Days back at which it was done; every lot is at least a week old.
_AGO = 3


def write_acts(session: Session, actor: str, lots: Sequence[Lot], today: dt.date) -> None:
    """Do what the table of acts says; of several lines of one act the first that is allowed."""
    done_on = today - dt.timedelta(days=_AGO)
    newest: dict[str, Lot] = {}
    for lot in lots:
        if lot.amount_mg and lot.archived_at is None and not lot.is_held:
            newest[lot.population.code] = lot
    done: set[str] = set()
    for row in rows("acts"):
        chosen = [newest[code] for code in row["populations"].split() if code in newest]
        if row["act"] in done or len(chosen) != len(row["populations"].split()):
            continue
        share = float(row["share"])
        amounts = [(lot, round((lot.amount_mg or 0) * share)) for lot in chosen]
        if row["act"] == "mix" and not judge_lots(session, chosen).allowed:
            continue
        _do(session, actor, row["act"], amounts, row["reason"], done_on, today)
        done.add(row["act"])


def _do(
    session: Session,
    actor: str,
    act: str,
    amounts: Sequence[tuple[Lot, int]],
    reason: str,
    done_on: dt.date,
    today: dt.date,
) -> None:
    lot, amount = amounts[0]
    if act == "mix":
        mix_lots(session, actor, amounts=amounts, reason=reason, happened_on=done_on, today=today)
    elif act == "split":
        split_lot(session, actor, lot=lot, amount=amount, reason=reason, happened_on=done_on, today=today)
    else:
        mistaken = take_from_lot(
            session, actor, lot=lot, kind=MovementKind.WITHDRAWN, measure=Measure.SEED, amount=amount,
            happened_on=done_on, today=today,
        )  # fmt: skip
        reverse_act(session, actor, act=mistaken.act, reason=reason, today=today)
