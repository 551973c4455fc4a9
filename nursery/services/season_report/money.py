"""What the season's plants cost, what was spent and used within its days, and who paid."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Expense, Supply, SupplyMovement
from nursery.models.supplies import SupplyKind, SupplyMovementKind, SupplyUnit
from nursery.services.costing.costs import Costs, Reckoned, reckon, share_out
from nursery.services.costing.pools import unlogged_hours
from nursery.services.season_report.scope import Scope


@dataclass(frozen=True)
class Spent:
    """An expense written down, or several for the same thing and funder."""

    what: str
    funder: str
    cents: int


@dataclass(frozen=True)
class Used:
    """A supply: what was used and bought within the season's days."""

    name: str
    kind: SupplyKind
    unit: SupplyUnit
    used: float
    received: float
    cents: int


@dataclass(frozen=True)
class Money:
    """Costs of the season's plants, laid out three ways from one reckoning, and what was spent and used."""

    found: Reckoned
    by_species: Costs
    by_site: Costs
    by_funder: Costs
    expenses: Sequence[Spent]
    supplies: Sequence[Used]


def read_money(session: Session, scope: Scope) -> Money:
    """All of it; the costs are reckoned once."""
    found, unlogged = reckon(session), unlogged_hours(session)
    season = scope.season
    return Money(
        found,
        share_out(found, by="species", season=season, unlogged=unlogged),
        share_out(found, by="site", season=season, unlogged=unlogged),
        share_out(found, by="funder", season=season, unlogged=unlogged),
        _expenses(session, scope),
        _supplies(session, scope),
    )


def _expenses(session: Session, scope: Scope) -> list[Spent]:
    rows = session.execute(
        select(Expense.what, Expense.funder, Expense.amount)
        .where(Expense.archived_at.is_(None), Expense.spent_on.between(scope.first, scope.last))
        .order_by(Expense.id)
    )
    sums: defaultdict[tuple[str, str], int] = defaultdict(int)
    for what, funder, amount in rows:
        sums[what, funder] += round(amount * 100)
    return [Spent(*key, cents) for key, cents in sorted(sums.items(), key=lambda one: (one[0][1], -one[1]))]


def _supplies(session: Session, scope: Scope) -> list[Used]:
    rows = session.execute(
        select(
            Supply.name, Supply.kind, Supply.unit, SupplyMovement.kind, func.sum(SupplyMovement.change),
            func.sum(SupplyMovement.cost),
        )
        .join(SupplyMovement.supply)
        .where(
            SupplyMovement.happened_on.between(scope.first, scope.last),
            SupplyMovement.kind.in_((SupplyMovementKind.USED, SupplyMovementKind.RECEIVED)),
        )
        .group_by(Supply.name, Supply.kind, Supply.unit, SupplyMovement.kind)
        .order_by(Supply.name)
    )  # fmt: skip
    found: dict[str, Used] = {}
    for name, kind, unit, act, change, cost in rows:
        one = found.get(name, Used(name, kind, unit, 0.0, 0.0, 0))
        is_use = act is SupplyMovementKind.USED
        found[name] = Used(
            name, kind, unit, one.used - change if is_use else one.used,
            one.received if is_use else one.received + change, one.cents + round((cost or 0) * 100),
        )  # fmt: skip
    return list(found.values())
