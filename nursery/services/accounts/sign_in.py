"""Signing in and out, the browsers somebody is signed in with, and the brake on guessing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Row, bindparam, delete, func, or_, select, update
from sqlalchemy.orm import Session

from nursery.database import read_columns
from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.models import Account, AccountRole, FailedSignIn, SignIn
from nursery.services import auditing
from nursery.services.accounts import passwords, second_factor
from nursery.services.accounts.rights import rights_of
from nursery.services.accounts.tokens import new_token, token_hash
from nursery.services.acting import Acting

#: A browser that was not used for this long is signed out; none stays signed in for longer than the other.
IDLE = dt.timedelta(hours=12)
LONGEST = dt.timedelta(days=14)
#: Use is noted this often at most: a write for each page would be too much.
NOTED_EVERY = dt.timedelta(minutes=5)
#: So many wrong tries for one account, or from one address, within the time; then one has to wait.
TRIES_ACCOUNT = 5
TRIES_ADDRESS = 30
WITHIN = dt.timedelta(minutes=15)
KEPT = dt.timedelta(days=1)


class Wait(Invalid):
    """Too many wrong tries; nothing is looked at until some time has passed."""


def check_password(session: Session, *, email: str, password: str, address: str, at: dt.datetime) -> Account:
    """The account with this e-mail address and password.

    Whether the address or the password is wrong is not told, nor by the time that it takes.

    Raises
    ------
    Invalid
        When they do not fit. The caller must commit, so that the try counts.
    Wait
        After too many wrong tries.
    """
    email = email.strip().lower()[:254]
    _brake(session, email, address, at)
    account = session.scalar(select(Account).where(Account.email == email, Account.archived_at.is_(None)))
    if not passwords.fits(account.password_hash if account else "", password) or account is None:
        note_failure(session, email=email, address=address, at=at)
        raise Invalid({"password": _("E-mail address and password do not fit together. Type both again.")})
    if passwords.is_dated(account.password_hash):
        account.password_hash = passwords.hashed(password)
    return account


def check_code(session: Session, *, account: Account, code: str, address: str, at: dt.datetime) -> None:
    """The second factor of an account whose password was right."""
    _brake(session, account.email, address, at)
    if not second_factor.code_fits(account, account.totp_secret, code, at):
        note_failure(session, email=account.email, address=address, at=at)
        raise Invalid(
            {"code": _("“%(code)s” is not the code of this moment. Wait for the next one.", code=code[:20])}
        )


def begin(session: Session, *, account: Account, device: str, at: dt.datetime) -> str:
    """Sign the account in; the token is for the browser's cookie and is never seen again."""
    token = new_token()
    row = SignIn(
        account_id=account.id, token_hash=token_hash(token), began_at=at, seen_at=at, ends_at=at + LONGEST,
        device=device[:200],
    )  # fmt: skip
    session.add(row)
    session.execute(delete(FailedSignIn).where(FailedSignIn.email == account.email))
    auditing.record(session, account.name, action="signed in", row=account, details={})
    return token


#: Made once: it is part of every request.
_SIGNED_IN = (
    select(
        SignIn.id, SignIn.seen_at, Account.id.label("account_id"), Account.name, Account.nursery_id,
        AccountRole.role,
    )
    .join(Account, Account.id == SignIn.account_id)
    .outerjoin(AccountRole, AccountRole.account_id == Account.id)
    .where(
        SignIn.token_hash == bindparam("token_hash"), SignIn.ended_at.is_(None), SignIn.ends_at > bindparam("at"),
        SignIn.seen_at > bindparam("idle_since"), Account.archived_at.is_(None),
    )
)  # fmt: skip


def find(session: Session, token: str, at: dt.datetime) -> tuple[Acting, Row[Any]] | None:
    """Who is signed in with this token, and the sign-in's ``id`` and when it was ``seen_at``, in one statement.

    None when it has ended or never was.
    """
    asked = {"token_hash": token_hash(token), "at": at, "idle_since": at - IDLE}
    rows = read_columns(session, _SIGNED_IN, asked)
    if not rows:
        return None
    first = rows[0]
    rights = rights_of(row.role for row in rows if row.role is not None)
    return Acting(first.account_id, first.name, rights, first.nursery_id), first


def note_use(session: Session, sign_in_id: int, at: dt.datetime) -> None:
    """The browser was used just now."""
    session.execute(update(SignIn).where(SignIn.id == sign_in_id).values(seen_at=at))


def open_sign_ins(session: Session, account_id: int, at: dt.datetime) -> Sequence[SignIn]:
    """Browsers in which the account is signed in, the last used first."""
    return session.scalars(
        select(SignIn)
        .where(
            SignIn.account_id == account_id, SignIn.ended_at.is_(None), SignIn.ends_at > at,
            SignIn.seen_at > at - IDLE,
        )
        .order_by(SignIn.seen_at.desc(), SignIn.id.desc())
    ).all()  # fmt: skip


def end(session: Session, actor: str, *, account: Account, at: dt.datetime, sign_in_id: int | None = None) -> None:
    """Sign out of one browser, or of all."""
    wanted = [SignIn.account_id == account.id, SignIn.ended_at.is_(None)]
    if sign_in_id is not None:
        wanted.append(SignIn.id == sign_in_id)
    found = session.scalars(select(SignIn).where(*wanted)).all()
    if sign_in_id is not None and not found:
        raise NotFound(_("This browser is signed out already."))
    for row in found:
        row.ended_at = at
    auditing.record(session, actor, action="signed out", row=account, details={"browsers": [None, len(found)]})


def note_failure(session: Session, *, email: str, address: str, at: dt.datetime) -> None:
    """Count a wrong try; those of yesterday are forgotten."""
    session.execute(delete(FailedSignIn).where(FailedSignIn.at < at - KEPT))
    session.add(FailedSignIn(at=at, email=email, address=address[:45]))


def _brake(session: Session, email: str, address: str, at: dt.datetime) -> None:
    tries = session.execute(
        select(
            func.count().filter(FailedSignIn.email == email),
            func.count().filter(FailedSignIn.address == address[:45]),
            func.min(FailedSignIn.at),
        ).where(
            or_(FailedSignIn.email == email, FailedSignIn.address == address[:45]), FailedSignIn.at > at - WITHIN
        )
    ).one()
    for_account, from_address, first = tries
    if for_account >= TRIES_ACCOUNT or from_address >= TRIES_ADDRESS:
        minutes = max(1, round((first + WITHIN - at).total_seconds() / 60))
        raise Wait(
            {
                "password": ngettext(
                    "Too many wrong tries. Wait %(num)s minute, then try again.",
                    "Too many wrong tries. Wait %(num)s minutes, then try again.",
                    minutes,
                )
            }
        )
