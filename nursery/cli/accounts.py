"""``nursery account``: the first account, and the way back in when nobody can sign in any more.

Who may use the command line owns the machine and the database; the pages have everything else.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import click

from nursery.cli.group import Trouble
from nursery.config import Settings, read_settings
from nursery.i18n import gettext as _

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from nursery.models import Account

#: Where the pages answer unless ``NURSERY_ADDRESS`` says otherwise.
USUAL_ADDRESS = "http://127.0.0.1:8000"


@click.group(help=_("Make the first account, or a new link for somebody who cannot sign in any more."))
def account() -> None:
    """Accounts at the command line."""


@account.command(help=_("Make an account that may do everything; prints a link that sets its password once."))
@click.argument("name")
@click.argument("email")
def add(name: str, email: str) -> None:
    """The first coordinator, who looks after accounts too."""
    from nursery.cli.opening import prepared  # noqa: PLC0415 -- slow import
    from nursery.models.accounts import Role  # noqa: PLC0415 -- slow import
    from nursery.services.accounts.people import invite  # noqa: PLC0415 -- slow import

    settings = read_settings()
    with prepared(settings) as session:
        _made, secret = invite(
            session,
            settings.person,
            name=name,
            email=email,
            roles=(Role.COORDINATOR, Role.ADMINISTRATOR),
            at=_now(),
        )
        click.echo(_address(settings, secret))


@account.command(help=_("Print a link that sets a new password once, for the account with this e-mail address."))
@click.argument("email")
def link(email: str) -> None:
    """A way back in."""
    from nursery.cli.opening import transaction  # noqa: PLC0415 -- slow import
    from nursery.services.accounts.people import new_link  # noqa: PLC0415 -- slow import

    settings = read_settings()
    with transaction(settings) as session:
        secret = new_link(session, settings.person, account=_known(session, email), at=_now())
        click.echo(_address(settings, secret))


def _known(session: Session, email: str) -> Account:
    from sqlalchemy import select  # noqa: PLC0415 -- slow import

    from nursery.models import Account  # noqa: PLC0415 -- slow import

    found = session.scalar(select(Account).where(Account.email == email.strip().lower()))
    if found is None:
        raise Trouble(_("There is no account with the e-mail address “%(email)s”.", email=email))
    return found


def _address(settings: Settings, secret: str) -> str:
    return f"{settings.address or USUAL_ADDRESS}/welcome/{secret}"


def _now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)
