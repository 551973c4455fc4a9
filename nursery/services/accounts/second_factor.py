"""The second factor: six digits that change every 30 seconds (time-based one-time password, RFC 6238)."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Account
from nursery.services import auditing
from nursery.services.heavy import pyotp

#: Seconds for which one code is good; one step before and after is taken too, for clocks that differ.
STEP = 30
ISSUER = "Native plant nursery planner"


def new_secret() -> str:
    """A secret of 160 bits in base32, as RFC 4226 asks for."""
    return pyotp.random_base32(32)


def address(account: Account, secret: str) -> str:
    """The ``otpauth`` address that an authenticator reads as a picture."""
    return pyotp.TOTP(secret).provisioning_uri(name=account.email, issuer_name=ISSUER)


def code_fits(account: Account, secret: str, code: str, at: dt.datetime) -> bool:
    """Whether the code is right now and was not used before; it is used up by this."""
    digits = "".join(code.split())
    now = int(at.timestamp()) // STEP
    for step in (now - 1, now, now + 1):
        if step > account.totp_step and pyotp.utils.strings_equal(pyotp.TOTP(secret).at(step * STEP), digits):
            account.totp_step = step
            return True
    return False


def switch_on(session: Session, actor: str, *, account: Account, secret: str, code: str, at: dt.datetime) -> None:
    """From now on signing in needs a code; the first one proves that the person's device has the secret."""
    if not code_fits(account, secret, code, at):
        raise Invalid(
            {"code": _("“%(code)s” is not the code of this moment. Wait for the next one, and see that the clock"
                       " of your device is right.", code=code[:20])}
        )  # fmt: skip
    account.totp_secret = secret
    auditing.record(session, actor, action="second factor on", row=account, details={})


def switch_off(session: Session, actor: str, *, account: Account) -> None:
    """Signing in needs the password only; an administrator does this for somebody who lost the device."""
    account.totp_secret = ""
    auditing.record(session, actor, action="second factor off", row=account, details={})
