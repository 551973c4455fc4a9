"""``nursery upgrade`` and ``nursery check``: the database's shape and soundness."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from nursery import resources
from nursery.config import read_settings
from nursery.i18n import gettext as _
from nursery.i18n import ngettext

if TYPE_CHECKING:
    from sqlalchemy import Engine


@click.command(help=_("Bring the database up to this version; nothing is lost."))
def upgrade() -> None:
    """Upgrade the schema and the species rows."""
    from nursery.cli.opening import place_of, prepared  # noqa: PLC0415 -- slow import

    with prepared(read_settings()) as session:
        place = place_of(session)
        click.echo(_("The database at %(place)s is up to date.", place=place))


@click.command(help=_("Check the database and the species catalogue; exit code 1 when something is wrong."))
@click.pass_context
def check(ctx: click.Context) -> None:
    """Look for faults and name each."""
    from nursery.catalog.checking import check as check_catalog  # noqa: PLC0415 -- slow import
    from nursery.cli.opening import current_settings, opened, place_of  # noqa: PLC0415 -- slow import

    with opened(current_settings()) as engine:
        faults = [
            *map(str, check_catalog(resources.seed_catalog())),
            *broken_references(engine),
            *wrong_amounts(engine),
        ]
        place = place_of(engine)
    for fault in faults:
        click.echo(fault)
    if faults:
        click.echo(ngettext("%(num)s fault was found.", "%(num)s faults were found.", len(faults)), err=True)
        ctx.exit(1)
    click.echo(_("The database at %(place)s and the catalogue are sound.", place=place))


def wrong_amounts(engine: Engine) -> list[str]:
    """Lots whose amount is not the sum of their movements."""
    from sqlalchemy.orm import Session  # noqa: PLC0415 -- slow import

    from nursery.services.ledger import wrong_balances  # noqa: PLC0415 -- slow import

    with Session(engine) as session:
        return wrong_balances(session)


def broken_references(engine: Engine) -> list[str]:
    """Rows that point at a record which is not there; servers forbid them, SQLite files may come from anywhere."""
    if engine.dialect.name != "sqlite":
        return []
    with engine.connect() as connection:
        found = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    return [
        _("%(table)s, row %(row)s points at a missing row of %(other)s.", table=table, row=row, other=other)
        for table, row, other, _key in found
    ]
