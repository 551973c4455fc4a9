"""Accounts: inviting somebody, giving roles, closing, and the one-time links that set a password."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Account, AccountRole, ApiToken, OneTimeLink, SignIn
from nursery.models.accounts import LinkPurpose, Role
from nursery.services import auditing
from nursery.services.accounts import passwords
from nursery.services.accounts.tokens import new_token, token_hash

#: How long a one-time link is good.
LINK_KEEPS = dt.timedelta(days=7)


def all_accounts(session: Session) -> Sequence[Account]:
    """Every account by name, those that are closed last."""
    return session.scalars(select(Account).order_by(Account.archived_at.is_not(None), Account.name)).all()


def get_account(session: Session, account_id: int) -> Account:
    """The account with this number."""
    found = session.get(Account, account_id)
    if found is None:
        raise NotFound(_("There is no such account."))
    return found


def invite(
    session: Session,
    actor: str,
    *,
    name: str,
    email: str,
    roles: Collection[Role],
    nursery_id: int | None = None,
    at: dt.datetime,
) -> tuple[Account, str]:
    """A new account without password, and the secret of the link by which its owner sets one."""
    name, email = name.strip(), email.strip().lower()
    refused = _refused(session, name, email, roles, None)
    if refused:
        raise Invalid(refused)
    account = Account(name=name, email=email, nursery_id=nursery_id)
    account.roles = [AccountRole(role=role) for role in sorted(set(roles))]
    session.add(account)
    auditing.record(
        session, actor, action="invited", row=account,
        details={"name": [None, name], "email": [None, email], "roles": [None, sorted(set(roles))]},
    )  # fmt: skip
    return account, new_link(session, actor, account=account, at=at)


def new_link(session: Session, actor: str, *, account: Account, at: dt.datetime) -> str:
    """Secret of a one-time link: an invitation, or for who has a password already the way to a new one.

    Older links of the account are good no longer.
    """
    if account.archived_at is not None:
        raise Conflict(_("The account of %(name)s is closed. Open it again first.", name=account.name))
    session.execute(
        update(OneTimeLink)
        .where(OneTimeLink.account_id == account.id, OneTimeLink.used_at.is_(None))
        .values(used_at=at)
    )
    secret = new_token()
    purpose = LinkPurpose.NEW_PASSWORD if account.password_hash else LinkPurpose.INVITATION
    session.flush()
    session.add(
        OneTimeLink(account_id=account.id, token_hash=token_hash(secret), purpose=purpose, ends_at=at + LINK_KEEPS)
    )
    auditing.record(session, actor, action="link made", row=account, details={"purpose": [None, purpose.value]})
    return secret


def account_of_link(session: Session, secret: str, at: dt.datetime) -> Account | None:
    """Whose link this is; None when it was used, has ended or never was."""
    return session.scalar(
        select(Account)
        .join(OneTimeLink, OneTimeLink.account_id == Account.id)
        .where(*_good(secret, at), Account.archived_at.is_(None))
    )


def use_link(session: Session, *, secret: str, password: str, at: dt.datetime) -> Account:
    """Set the account's password by its link, once; whoever was signed in with the old one is signed out."""
    link = session.scalar(select(OneTimeLink).where(*_good(secret, at)).with_for_update())
    account = account_of_link(session, secret, at)
    if link is None or account is None:
        raise NotFound(_("This link was used already, or is too old. Ask for a new one."))
    _set_password(session, account.name, account, password, at)
    link.used_at = at
    return account


def change_password(session: Session, *, account: Account, old: str, new: str, at: dt.datetime) -> None:
    """A new password for who knows the old one; all browsers are signed out."""
    if not passwords.fits(account.password_hash, old):
        raise Invalid({"old": _("This is not your password of today. Type it again.")})
    _set_password(session, account.name, account, new, at)


def change_account(
    session: Session,
    actor: str,
    *,
    account: Account,
    name: str,
    email: str,
    roles: Collection[Role],
    nursery_id: int | None,
) -> Account:
    """Another name, address, roles or nursery."""
    name, email = name.strip(), email.strip().lower()
    refused = _refused(session, name, email, roles, account)
    if refused:
        raise Invalid(refused)
    if Role.ADMINISTRATOR not in roles:
        _keep_an_administrator(session, account)
    before = sorted(row.role for row in account.roles)
    account.name, account.email, account.nursery_id = name, email, nursery_id
    details: dict[str, Any] = auditing.changed_fields(account)
    if before != sorted(set(roles)):
        kept = {row.role: row for row in account.roles}
        account.roles = [kept.get(role) or AccountRole(role=role) for role in sorted(set(roles))]
        details["roles"] = [before, sorted(set(roles))]
    if details:
        auditing.record(session, actor, action="changed", row=account, details=details)
    return account


def close(session: Session, actor: str, *, account: Account, at: dt.datetime) -> None:
    """The account can no longer sign in, nor can its tokens; what it did stays in the histories."""
    _keep_an_administrator(session, account)
    account.archived_at = at
    _end_everything(session, account, at)
    auditing.record(session, actor, action="archived", row=account)


def reopen(session: Session, actor: str, *, account: Account) -> None:
    """The account may sign in again, with its old password."""
    account.archived_at = None
    auditing.record(session, actor, action="restored", row=account)


def has_accounts(session: Session) -> bool:
    """Whether anybody could sign in: an account that is open, with a password or with an invitation."""
    return session.scalar(select(func.count()).select_from(Account).where(Account.archived_at.is_(None))) != 0


def _set_password(session: Session, actor: str, account: Account, password: str, at: dt.datetime) -> None:
    account.password_hash = passwords.hashed(password, known=(account.name, account.email))
    _end_everything(session, account, at, tokens=False)
    auditing.record(session, actor, action="new password", row=account, details={})


def _end_everything(session: Session, account: Account, at: dt.datetime, *, tokens: bool = True) -> None:
    for model in (SignIn, ApiToken) if tokens else (SignIn,):
        session.execute(
            update(model).where(model.account_id == account.id, model.ended_at.is_(None)).values(ended_at=at)
        )


def _good(secret: str, at: dt.datetime) -> tuple[Any, ...]:
    return OneTimeLink.token_hash == token_hash(secret), OneTimeLink.used_at.is_(None), OneTimeLink.ends_at > at


def _refused(
    session: Session, name: str, email: str, roles: Collection[Role], own: Account | None
) -> dict[str, str]:
    refused: dict[str, str] = {}
    others = [] if own is None else [Account.id != own.id]
    if not 0 < len(name) <= 80:
        refused["name"] = _("A name has between 1 and 80 characters.")
    elif session.scalar(select(Account.id).where(Account.name == name, *others)) is not None:
        refused["name"] = _("There is an account of this name already; histories could not tell the two apart.")
    if not _is_address(email):
        refused["email"] = _("“%(email)s” is no e-mail address.", email=email[:80])
    elif session.scalar(select(Account.id).where(Account.email == email, *others)) is not None:
        refused["email"] = _("There is an account with this e-mail address already.")
    if not roles:
        refused["roles"] = _("Choose at least one role.")
    return refused


def _is_address(text: str) -> bool:
    before, at, host = text.rpartition("@")
    return (
        bool(before and at and host) and len(text) <= 254 and text.isprintable() and not set(text) & set(' <>",;')
    )


def _keep_an_administrator(session: Session, leaving: Account) -> None:
    """Somebody must be left who can look after accounts."""
    others = select(func.count()).select_from(Account).join(AccountRole).where(
        AccountRole.role == Role.ADMINISTRATOR, Account.archived_at.is_(None), Account.id != leaving.id
    )  # fmt: skip
    administers = any(row.role == Role.ADMINISTRATOR for row in leaving.roles)
    if administers and not session.scalar(others):
        raise Conflict(
            _("%(name)s is the only one who looks after accounts. Make somebody else an administrator first.",
              name=leaving.name)
        )  # fmt: skip
