"""The list of lots, 50 of many, against a bare page of Flask and SQLAlchemy, and against no page at all.

All three run in one process of waitress with the threads that ``nursery serve`` has; sixteen clients ask as fast
as they are answered.
"""

from __future__ import annotations

import http.client
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from nursery.database import make_engine, upgrade
from nursery.models import Lot, Population, Species
from nursery.models.types import utc_now
from nursery.services.setup import set_up
from tests.benchmarks.growth import exponent
from tests.signing_in import COOKIE, TOKEN, write_sign_in

SIZES = (1_000, 10_000, 100_000)
CLIENTS, SECONDS = 16, 6.0
#: Our list, a bare page of the same rows, and an answer without a page.
OURS, BARE, HELLO = "/lots", "/bare/", "/hello/"


@dataclass(frozen=True)
class Rate:
    """Answers a second, and how long half and 19 in 20 of them took, in seconds."""

    per_second: float
    p50: float
    p95: float


def run() -> None:
    """Print rates and ratios for each size, and how they grow."""
    found: dict[int, dict[str, Rate]] = {}
    for size in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            address = f"sqlite:///{Path(folder) / 'lots.sqlite'}"
            _fill(address, size)
            found[size] = {path: _served(address, path) for path in (OURS, BARE, HELLO)}
        ours, bare, hello = (found[size][path] for path in (OURS, BARE, HELLO))
        print(
            f"pages, {size} lots, {CLIENTS} clients: list {_told(ours)}; bare page {_told(bare)}; no page "
            f"{_told(hello)}; the list reaches {ours.per_second / bare.per_second:.0%} of the bare page's rate "
            f"and {ours.per_second / hello.per_second:.0%} of an empty answer's"
        )
    grows = exponent(SIZES, [1 / found[size][OURS].per_second for size in SIZES])
    print(f"pages: time of an answer grows with the number of lots to the power {grows:.2f}")


def _told(rate: Rate) -> str:
    return f"{rate.per_second:.0f}/s (p50 {rate.p50 * 1000:.0f} ms, p95 {rate.p95 * 1000:.0f} ms)"


def _served(address: str, path: str) -> Rate:
    command = [sys.executable, "-m", "tests.benchmarks.pages_server", address]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        port = int(server.stdout.readline())
        try:
            _ask(port, path, until=time.perf_counter() + 1.0)  # warms up
            return _all_ask(port, path)
        finally:
            server.terminate()


def _all_ask(port: int, path: str) -> Rate:
    times: list[list[float]] = [[] for _client in range(CLIENTS)]
    began = time.perf_counter()
    until = began + SECONDS

    def work(number: int) -> None:
        times[number] = _ask(port, path, until=until)

    threads = [threading.Thread(target=work, args=(number,)) for number in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    took = time.perf_counter() - began
    each = np.sort(np.concatenate([np.asarray(one) for one in times]))
    return Rate(len(each) / took, float(np.quantile(each, 0.5)), float(np.quantile(each, 0.95)))


def _ask(port: int, path: str, *, until: float) -> list[float]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    found = []
    while time.perf_counter() < until:
        began = time.perf_counter()
        connection.request("GET", path, headers={"Cookie": f"{COOKIE}={TOKEN}"})
        answer = connection.getresponse()
        answer.read()
        assert answer.status == 200, answer.status
        found.append(time.perf_counter() - began)
    connection.close()
    return found


def _fill(address: str, size: int) -> None:
    engine = make_engine(address)
    upgrade(engine)
    with Session(engine) as session, session.begin():
        set_up(session, "Ana Seabra")
        write_sign_in(session)
        species = session.scalars(select(Species.id).order_by(Species.id).limit(10)).all()
        stands = [
            {
                "code": f"P-{number:03d}", "name": f"Stand {number}", "species_id": species[number % 10],
                "latitude": 39.0, "longitude": -6.0, "created_at": utc_now(), "version": 1,
            }
            for number in range(100)
        ]  # fmt: skip
        session.execute(insert(Population), stands)
        first = session.scalar(select(func.min(Population.id))) or 1
        day = utc_now().date()
        session.execute(
            insert(Lot),
            [
                {
                    "code": f"L-{number:06d}", "species_id": species[number % 10],
                    "population_id": first + number % 100, "collected_on": day, "ripening_year": day.year,
                    "amount_mg": 1000 * (number % 900), "created_at": utc_now(), "version": 1, "fruit_mg": 0,
                }
                for number in range(size)
            ],
        )  # fmt: skip
    engine.dispose()
