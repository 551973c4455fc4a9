"""The demo's accounts: one for each role, without passwords; the demo lets its visitor take their place."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Account, AccountRole
from nursery.models.accounts import Role
from nursery.services import auditing
from nursery.services.demo.tables import rows


def coordinator() -> str:
    """Who writes the demo's records down: the first coordinator of the table."""
    return next(row["name"] for row in rows("accounts") if Role.COORDINATOR in row["roles"].split())


def write_accounts(session: Session, actor: str) -> None:
    """Those of the table whose name is not taken yet."""
    known = set(session.scalars(select(Account.name)))
    for row in rows("accounts"):
        if row["name"] in known:
            continue
        account = Account(name=row["name"], email=row["email"])
        account.roles = [AccountRole(role=Role(word)) for word in sorted(row["roles"].split())]
        session.add(account)
        auditing.record(session, actor, action="invited", row=account, details={"name": [None, account.name]})
