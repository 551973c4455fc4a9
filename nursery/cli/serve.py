"""``nursery serve``: the own nursery's pages."""

from __future__ import annotations

import click

from nursery.cli.serving import port_option, serve_pages
from nursery.config import read_settings
from nursery.i18n import gettext as _
from nursery.starting import without_collecting


@click.command(help=_("Serve your own nursery's pages on this machine, its database made or upgraded first."))
@port_option
def serve(port: int) -> None:
    """Upgrade, then serve."""
    from nursery.cli.opening import place_of, prepared  # noqa: PLC0415 -- slow import

    settings = read_settings()
    with without_collecting(), prepared(settings) as session:
        click.echo(_("Database: %(place)s", place=place_of(session)))
    serve_pages(settings, port)
