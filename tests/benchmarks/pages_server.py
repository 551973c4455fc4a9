"""One process with the planner, a bare page over the same lots, and an answer without a page; prints its port."""

from __future__ import annotations

import logging
import socket
import sys
import time
from pathlib import Path

from flask import Flask, render_template
from jinja2 import DictLoader
from sqlalchemy import select
from waitress import create_server
from werkzeug.middleware.dispatcher import DispatcherMiddleware

from nursery.app import create_app
from nursery.config import Settings
from nursery.database import make_engine, make_sessions
from nursery.models import Lot, Population, Species, StoragePlace

#: The columns of our list, in its order; compiled once, as templates in files are.
TABLE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Lots</title></head><body><h1>Lots</h1>
<table><thead><tr><th>Code</th><th>Species</th><th>Population</th><th>Ripening year</th><th>Amount (g)</th>
<th>Pieces</th><th>Germination</th><th>Kept in</th></tr></thead><tbody>
{% for row in rows %}<tr><td>{{ row.code }}</td><td>{{ row.scientific_name }}</td><td>{{ row.population }}</td>
<td>{{ row.ripening_year }}</td><td>{{ row.amount_mg / 1000 }}</td><td>{{ row.pieces or "" }}</td>
<td>{{ row.germination or "" }}</td><td>{{ row.place or "" }}</td></tr>
{% endfor %}</tbody></table></body></html>"""


def bare(address: str) -> Flask:
    """The least that shows fifty lots with our columns: one statement and one template, nobody asked for."""
    app = Flask("bare")
    app.jinja_loader = DictLoader({"lots.html": TABLE})
    sessions = make_sessions(make_engine(address))
    rows = (
        select(
            Lot.code, Species.scientific_name, Population.name.label("population"), Lot.ripening_year,
            Lot.amount_mg, Lot.pieces, Lot.germination, StoragePlace.name.label("place"),
        )
        .join(Species, Species.id == Lot.species_id)
        .join(Population, Population.id == Lot.population_id)
        .outerjoin(StoragePlace, StoragePlace.id == Lot.storage_place_id)
        .where(Lot.archived_at.is_(None))
        .order_by(Lot.code)
        .limit(50)
    )  # fmt: skip

    @app.get("/")
    def page() -> str:
        with sessions() as session:
            return render_template("lots.html", rows=session.execute(rows).all())

    return app


def hello() -> Flask:
    """No page at all."""
    app = Flask("hello")

    @app.get("/")
    def answer() -> str:
        return "hello"

    return app


def spent() -> Flask:
    """The processor time that this process has used, in seconds."""
    app = Flask("spent")

    @app.get("/")
    def answer() -> str:
        return repr(time.process_time())

    return app


def main(address: str) -> None:
    """Serve until it is stopped."""
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # that clients wait is what is measured
    settings = Settings(database_url=address, data_dir=Path(), secret_key="for a benchmark only")
    beside = {"/bare": bare(address), "/hello": hello(), "/spent": spent()}
    all_of_it = DispatcherMiddleware(create_app(settings), beside)
    door = socket.socket()
    door.bind(("127.0.0.1", 0))
    server = create_server(all_of_it, sockets=[door], threads=6, ident=None)
    print(door.getsockname()[1], flush=True)
    server.run()


if __name__ == "__main__":
    main(sys.argv[1])
