"""Serving the pages on this machine only."""

from __future__ import annotations

import click

from nursery.cli.group import Trouble
from nursery.config import Settings
from nursery.i18n import gettext as _

HOST = "127.0.0.1"

port_option = click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8000,
    show_default=True,
    help=_("Port; 0 takes a free one."),
)


def serve_pages(settings: Settings, port: int) -> None:
    """Serve until the person stops it; the address is told once the port is ours."""
    from waitress import create_server  # noqa: PLC0415 -- slow import

    from nursery.app import create_app  # noqa: PLC0415 -- slow import

    try:
        server = create_server(create_app(settings), host=HOST, port=port, threads=6, ident=None)
    except OSError as error:
        reason = error.strerror
        raise Trouble(
            _("Port %(port)s cannot be used (%(reason)s). Give another with --port.", port=port, reason=reason)
        ) from error
    address = f"http://{HOST}:{server.effective_port}/"
    click.echo(_("Open %(address)s in a browser. Stop with Ctrl+C.", address=address))
    try:
        server.run()
    except KeyboardInterrupt:  # waitress hands it on when it comes before the loop
        server.close()
