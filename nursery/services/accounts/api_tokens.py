"""Tokens for programs: cut to a scope, good until a day, shown once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Account, AccountRole, ApiToken
from nursery.models.accounts import Scope
from nursery.services import auditing
from nursery.services.accounts.rights import Right, rights_of
from nursery.services.accounts.tokens import new_token, token_hash
from nursery.services.acting import Acting

#: A token lives for a year at most, so that forgotten ones end by themselves.
LONGEST_DAYS = 366
#: All that a token of scope “read” may do.
READING = frozenset({Right.SEE})


def make_token(
    session: Session, actor: str, *, account: Account, name: str, scope: Scope, ends_on: dt.date, today: dt.date
) -> tuple[ApiToken, str]:
    """A token and its secret, which is never seen again."""
    if not name.strip():
        raise Invalid({"name": _("Say what the token is for, so that you know which one to end.")})
    if not today <= ends_on <= today + dt.timedelta(days=LONGEST_DAYS):
        raise Invalid({"ends_on": _("A token ends between today and a year from now.")})
    secret = new_token()
    row = ApiToken(
        account_id=account.id, name=name.strip()[:80], token_hash=token_hash(secret), scope=scope, ends_on=ends_on
    )
    session.add(row)
    auditing.record(
        session, actor, action="token made", row=account,
        details={"name": [None, row.name], "scope": [None, scope.value], "ends_on": [None, ends_on.isoformat()]},
    )  # fmt: skip
    return row, secret


def find_token(session: Session, secret: str, today: dt.date) -> Acting | None:
    """Whose token this is and what it may do; None when it has ended or never was."""
    rows = session.execute(
        select(Account.id, Account.name, Account.nursery_id, ApiToken.scope, AccountRole.role)
        .join(Account, Account.id == ApiToken.account_id)
        .outerjoin(AccountRole, AccountRole.account_id == Account.id)
        .where(
            ApiToken.token_hash == token_hash(secret), ApiToken.ended_at.is_(None), ApiToken.ends_on >= today,
            Account.archived_at.is_(None),
        )
    ).all()  # fmt: skip
    if not rows:
        return None
    account_id, name, nursery_id, scope, _role = rows[0]
    # Programs keep what they read: private data stay with people, whatever the account may see.
    rights = rights_of(row.role for row in rows if row.role is not None) - {Right.ADMINISTER, Right.SEE_PRIVATE}
    return Acting(account_id, name, rights & READING if scope is Scope.READ else rights, nursery_id)


def tokens_of(session: Session, account_id: int, today: dt.date) -> Sequence[ApiToken]:
    """The account's tokens that are still good."""
    return session.scalars(
        select(ApiToken)
        .where(ApiToken.account_id == account_id, ApiToken.ended_at.is_(None), ApiToken.ends_on >= today)
        .order_by(ApiToken.id)
    ).all()


def end_token(session: Session, actor: str, *, account: Account, token_id: int, at: dt.datetime) -> None:
    """The token is no longer good."""
    row = session.scalar(
        select(ApiToken).where(
            ApiToken.id == token_id, ApiToken.account_id == account.id, ApiToken.ended_at.is_(None)
        )
    )
    if row is None:
        raise NotFound(_("This token has ended already."))
    row.ended_at = at
    auditing.record(session, actor, action="token ended", row=account, details={"name": [row.name, None]})
