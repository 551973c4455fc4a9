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
import urllib.request
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
CLIENTS, SECONDS, TURNS = 16, 4.0, 3
#: Our list, a bare page of the same rows, and an answer without a page.
OURS, BARE, HELLO, SPENT = "/lots", "/bare/", "/hello/", "/spent/"


@dataclass(frozen=True)
class Rate:
    """Answers a second, how long half and 19 in 20 of them took, and the processor time of one, in seconds."""

    per_second: float
    p50: float
    p95: float
    processor: float


def run() -> None:
    """Print rates and ratios for each size, and how they grow."""
    found: dict[int, dict[str, Rate]] = {}
    for size in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            address = f"sqlite:///{Path(folder) / 'lots.sqlite'}"
            _fill(address, size)
            # In turns, so that what else the machine does falls on all alike; the best turn is the quietest.
            turns = [{path: _served(address, path) for path in (OURS, BARE, HELLO)} for _turn in range(TURNS)]
        found[size] = {path: min((turn[path] for turn in turns), key=_quiet) for path in (OURS, BARE, HELLO)}
        ours, bare, hello = (found[size][path] for path in (OURS, BARE, HELLO))
        print(
            f"pages, {size} lots, {CLIENTS} clients: list {_told(ours)}; bare page {_told(bare)}; no page "
            f"{_told(hello)}; the list reaches {ours.per_second / bare.per_second:.0%} of the bare page's rate, "
            f"{bare.processor / ours.processor:.0%} by processor time, and "
            f"{ours.per_second / hello.per_second:.0%} of an empty answer's rate",
            flush=True,
        )
    grows = exponent(SIZES, [found[size][OURS].processor for size in SIZES])
    print(f"pages: processor time of an answer grows with the number of lots to the power {grows:.2f}")


def _quiet(rate: Rate) -> float:
    return rate.processor


def _told(rate: Rate) -> str:
    return (
        f"{rate.per_second:.0f}/s (p50 {rate.p50 * 1000:.0f} ms, p95 {rate.p95 * 1000:.0f} ms, processor "
        f"{rate.processor * 1000:.2f} ms)"
    )


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
    spent, began = _spent(port), time.perf_counter()
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
    processor = (_spent(port) - spent) / len(each)
    return Rate(len(each) / took, float(np.quantile(each, 0.5)), float(np.quantile(each, 0.95)), processor)


def _spent(port: int) -> float:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{SPENT}") as answer:
        return float(answer.read())


def _ask(port: int, path: str, *, until: float) -> list[float]:
    """One browser's answers; as browsers do, it sends the cookies that it was given."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    cookies = {COOKIE: TOKEN}
    found = []
    while time.perf_counter() < until:
        began = time.perf_counter()
        connection.request("GET", path, headers={"Cookie": "; ".join(f"{k}={v}" for k, v in cookies.items())})
        answer = connection.getresponse()
        answer.read()
        assert answer.status == 200, answer.status
        found.append(time.perf_counter() - began)
        if given := answer.getheader("Set-Cookie"):
            name, _equals, value = given.partition(";")[0].partition("=")
            cookies[name] = value
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
