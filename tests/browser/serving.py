"""The application served as ``nursery serve`` does it, from a thread of the tests."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from flask import Flask, url_for
from sqlalchemy.orm import Session
from waitress.server import create_server
from waitress.wasyncore import close_all


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


@contextmanager
def serving(app: Flask) -> Iterator[Served]:
    """Serve on a free port of this machine until the block ends."""
    server = create_server(app, host="127.0.0.1", port=0, threads=4, ident=None)
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        yield Served(app, f"http://127.0.0.1:{server.effective_port}")
    finally:
        # Only its own thread may take the server down; with no socket left its loop ends.
        server.trigger.pull_trigger(lambda: close_all(server._map))
        thread.join()
        server.task_dispatcher.shutdown()
        app.extensions["nursery_sessions"].kw["bind"].dispose()
