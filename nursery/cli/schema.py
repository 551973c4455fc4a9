"""``nursery upgrade`` and ``nursery check``: the database's shape and soundness."""

from __future__ import annotations

import click

from nursery import resources
from nursery.config import read_settings
from nursery.i18n import gettext as _
from nursery.i18n import ngettext


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
    from sqlalchemy.orm import Session  # noqa: PLC0415 -- slow import

    from nursery.catalog.checking import check as check_catalog  # noqa: PLC0415 -- slow import
    from nursery.cli.opening import current_settings, found, place_of, refuse_older  # noqa: PLC0415 -- slow import
    from nursery.services.safekeeping import find_faults  # noqa: PLC0415 -- slow import

    with found(current_settings()) as engine, Session(engine) as session:
        refuse_older(engine)
        faults = [*map(str, check_catalog(resources.seed_catalog())), *find_faults(session)]
        place = place_of(engine)
    for fault in faults:
        click.echo(fault)
    if faults:
        click.echo(ngettext("%(num)s fault was found.", "%(num)s faults were found.", len(faults)), err=True)
        ctx.exit(1)
    click.echo(_("The database at %(place)s and the catalogue are sound.", place=place))
