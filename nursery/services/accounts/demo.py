"""The demo's own account: whoever opens the demo acts as its coordinator until they choose another."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Account, AccountRole
from nursery.models.accounts import Role
from nursery.services.accounts.rights import rights_of
from nursery.services.acting import Acting


def demo_account(session: Session) -> Acting | None:
    """The first coordinator, with everything an administrator may do beside; one statement."""
    row = session.execute(
        select(Account.id, Account.name)
        .join(AccountRole)
        .where(AccountRole.role == Role.COORDINATOR, Account.archived_at.is_(None))
        .order_by(Account.id)
        .limit(1)
    ).first()
    return Acting(row.id, row.name, rights_of((Role.COORDINATOR, Role.ADMINISTRATOR))) if row else None


def demo_accounts(session: Session) -> Sequence[Account]:
    """The accounts that a visitor of the demo may try."""
    return session.scalars(select(Account).where(Account.archived_at.is_(None)).order_by(Account.id)).all()
