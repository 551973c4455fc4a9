"""The application served as ``nursery serve`` does it, from a thread of the tests."""

from __future__ import annotations

import datetime as dt
import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from flask import Flask, url_for
from sqlalchemy.orm import Session
from waitress.server import create_server
from waitress.wasyncore import close_all

from nursery.config import Settings
from tests.applications import lent
from tests.conftest import TODAY
from tests.databases import Kept


@dataclass(frozen=True)
class Served:
    """An application and the address at which it answers."""

    app: Flask
    root: str

    def address(self, endpoint: str, **values: object) -> str:
        """Address of a page, without the host."""
        with self.app.test_request_context():
            return url_for(endpoint, **values)  # type: ignore[arg-type]

    def session(self) -> Session:
        """A session on its database."""
        session: Session = self.app.extensions["nursery_sessions"]()
        return session


# A browser asks for several things at once; that some of them wait a moment is no news.
logging.getLogger("waitress.queue").setLevel(logging.ERROR)


@contextmanager
def serving(kept: Kept, folder: Path, *, demo: bool = False, today: dt.date = TODAY) -> Iterator[Served]:
    """Serve a copy of this database on a free port of this machine until the block ends."""
    with serving_at(kept.copy(folder, "served"), folder, demo=demo, today=today) as served:
        yield served


@contextmanager
def serving_at(address: str, folder: Path, *, demo: bool = False, today: dt.date = TODAY) -> Iterator[Served]:
    """The same for the database itself at an address."""
    settings = Settings(
        database_url=address,
        data_dir=folder,
        secret_key="for tests only",
        person="Ana Seabra",
        demo=demo,
    )
    with lent(settings, today=today, testing=False) as app, _answering(app) as root:
        yield Served(app, root)


@contextmanager
def _answering(app: Flask) -> Iterator[str]:
    """Answer on a free port, of which the address is given."""
    server = create_server(app, host="127.0.0.1", port=0, threads=6, ident=None)
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        # Only its own thread may take the server down; with no socket left its loop ends.
        server.trigger.pull_trigger(lambda: close_all(server._map))
        thread.join()
        server.task_dispatcher.shutdown()
