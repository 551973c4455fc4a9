"""Serving the pages on this machine only."""

from __future__ import annotations

import os
import socket

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
    with listening(port) as door:
        from waitress import create_server  # noqa: PLC0415 -- slow import

        from nursery.app import start  # noqa: PLC0415 -- slow import

        app = start(settings)
        # Whom a web server in front had a request from is read, or left, by the application.
        server = create_server(app, sockets=[door], threads=6, ident=None, clear_untrusted_proxy_headers=False)
        address = f"http://{HOST}:{door.getsockname()[1]}/"
        click.echo(_("Open %(address)s in a browser. Stop with Ctrl+C.", address=address))
        try:
            server.run()
        except KeyboardInterrupt:  # waitress hands it on when it comes before the loop
            server.close()


def listening(port: int) -> socket.socket:
    """A socket on this machine only, or the reason in words."""
    door = socket.socket()
    if os.name == "posix":  # elsewhere this would let two programs share the port
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((HOST, port))
    except OSError as error:
        door.close()
        reason = error.strerror
        raise Trouble(
            _("Port %(port)s cannot be used (%(reason)s). Give another with --port.", port=port, reason=reason)
        ) from error
    return door
