"""One process with the planner, a bare page over the same lots, and an answer without a page; prints its port."""

from __future__ import annotations

import logging
import socket
import sys
from pathlib import Path

from flask import Flask, render_template_string
from sqlalchemy import select
from waitress import create_server
from werkzeug.middleware.dispatcher import DispatcherMiddleware

from nursery.app import create_app
from nursery.config import Settings
from nursery.database import make_engine, make_sessions
from nursery.models import Lot, Population, Species

TABLE = """<!doctype html><title>Lots</title><table>{% for row in rows %}<tr>
<td>{{ row.code }}</td><td>{{ row.scientific_name }}</td><td>{{ row.name }}</td><td>{{ row.collected_on }}</td>
<td>{{ row.amount_mg }}</td></tr>{% endfor %}</table>"""


def bare(address: str) -> Flask:
    """The least that shows fifty lots with their species and stand."""
    app = Flask("bare")
    sessions = make_sessions(make_engine(address))
    rows = (
        select(Lot.code, Species.scientific_name, Population.name, Lot.collected_on, Lot.amount_mg)
        .join(Species, Species.id == Lot.species_id)
        .join(Population, Population.id == Lot.population_id)
        .order_by(Lot.code)
        .limit(50)
    )

    @app.get("/")
    def page() -> str:
        with sessions() as session:
            return render_template_string(TABLE, rows=session.execute(rows).all())

    return app


def hello() -> Flask:
    """No page at all."""
    app = Flask("hello")

    @app.get("/")
    def answer() -> str:
        return "hello"

    return app


def main(address: str) -> None:
    """Serve until it is stopped."""
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # that clients wait is what is measured
    settings = Settings(database_url=address, data_dir=Path(), secret_key="for a benchmark only")
    all_of_it = DispatcherMiddleware(create_app(settings), {"/bare": bare(address), "/hello": hello()})
    door = socket.socket()
    door.bind(("127.0.0.1", 0))
    server = create_server(all_of_it, sockets=[door], threads=6, ident=None)
    print(door.getsockname()[1], flush=True)
    server.run()


if __name__ == "__main__":
    main(sys.argv[1])
