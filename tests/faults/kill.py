"""A server under write load, killed at moments of chance: what was acknowledged is there, and balances are right.

``python -m tests.faults.kill --times 200`` prints what was found.
"""

from __future__ import annotations

import argparse
import http.client
import random
import re
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Engine, select, text
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Movement, PlantMovement
from nursery.services.batches.checking import wrong_plant_balances
from nursery.services.ledger import wrong_balances
from nursery.services.safekeeping import find_faults
from nursery.web.access import COOKIE
from tests.faults.serving import Client, kill, start
from tests.faults.writers import Ground, prepare
from tests.signing_in import TOKEN, write_sign_in

CLIENTS = 8
#: Seconds of load before the server is killed.
LONGEST = 0.8


@dataclass
class Found:
    """What came of all rounds."""

    times: int = 0
    acknowledged: int = 0
    #: Sent, without an answer when the server died: written or not, but whole.
    open: int = 0
    open_written: int = 0
    faults: list[str] = field(default_factory=list)


def load(client: Client, name: str, ground: Ground, note: Path, stop: threading.Event) -> int:
    """Send one form after the other until the server is gone; each is written down once it is acknowledged.

    The answer is 1 where a form was on its way at the end.
    """
    number = 0
    with note.open("a", encoding="utf-8") as acknowledged:
        while not stop.is_set():
            number += 1
            mark = f"{name}-{number}"
            path, typed = form_of(ground, number, mark)
            try:
                status = client.send(path, typed)
            except (OSError, http.client.HTTPException):
                return 1
            if status == 303:
                acknowledged.write(f"{mark}\n")
                acknowledged.flush()
    return 0


def form_of(ground: Ground, number: int, mark: str) -> tuple[str, dict[str, str]]:
    """Seed taken out of a lot and plants written off in turn; the remark says which form it was."""
    day = {"happened_on": "2026-11-25", "reason": mark}
    if number % 2:
        lot = ground.lots[number // 2 % len(ground.lots)]
        return f"/lots/{lot}/ledger/sow", {"amount": "0.002", "unit": "g", "what": "seed", **day}
    batch = ground.batches[number // 2 % len(ground.batches)]
    return f"/batches/{batch}/act/lose", {"plants": "1", "cause": "pest", **day}


def marks(session: Session) -> list[str]:
    """The remarks of our clients in both ledgers."""
    every = [*session.scalars(select(Movement.reason)), *session.scalars(select(PlantMovement.reason))]
    return [reason for reason in every if re.fullmatch(r"\d+-\d+-\d+", reason)]


def kill_often(folder: Path, times: int, *, seed: int = 7, tell: bool = False) -> Found:
    """Serve, load, kill, look; again and again on one database."""
    address = f"sqlite:///{folder / 'nursery.sqlite'}"
    engine = make_engine(address)
    ground = prepare(engine, milligrams=10_000_000, plants=4_900)
    with Session(engine) as session, session.begin():
        write_sign_in(session)
    chance, found = random.Random(seed), Found()  # noqa: S311 -- no secret
    clients = [Client() for _number in range(CLIENTS)]
    for client in clients:
        client.cookies[COOKIE] = TOKEN
    page = form_of(ground, 1, "")[0]
    for number in range(times):
        server, port = start(address, folder)
        for client in clients:
            client.meet(port, page)
        stop, notes = threading.Event(), [folder / f"acknowledged-{one}" for one in range(CLIENTS)]
        with ThreadPoolExecutor(CLIENTS) as pool:
            going = [
                pool.submit(load, client, f"{number}-{one}", ground, notes[one], stop)
                for one, client in enumerate(clients)
            ]
            time.sleep(chance.uniform(0.02, LONGEST))
            kill(server)
            stop.set()
            on_their_way = sum(one.result() for one in going)
        found.times += 1
        compare(engine, notes, found, on_their_way)
        if tell and (number + 1) % 20 == 0:
            print(
                f"{number + 1} times: {found.acknowledged} acknowledged, faults: {found.faults or 'none'}",
                flush=True,
            )
    with Session(engine) as session:
        found.faults += find_faults(session)
    for client in clients:
        client.connection.close()
    engine.dispose()
    return found


def compare(engine: Engine, notes: list[Path], found: Found, on_their_way: int) -> None:
    """What the clients wrote down against what the database holds after its recovery."""
    acknowledged = {mark for note in notes for mark in note.read_text(encoding="utf-8").split()}
    with Session(engine) as session:
        written = marks(session)
        found.faults += [
            f"SQLite: {line}" for line in session.scalars(text("PRAGMA integrity_check")) if line != "ok"
        ]
        found.faults += [*wrong_balances(session), *wrong_plant_balances(session)]
    found.faults += [f"acknowledged and lost: {mark}" for mark in sorted(acknowledged - set(written))]
    if len(written) != len(set(written)):
        found.faults.append("something was written twice")
    found.acknowledged = len(acknowledged)
    found.open += on_their_way
    found.open_written = len(set(written) - acknowledged)
    if found.open_written > found.open:
        found.faults.append(f"{found.open_written} writes that nobody asked for any more")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7, help="of the moments of chance")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        began = time.monotonic()
        found = kill_often(Path(folder), asked.times, seed=asked.seed, tell=True)
    print(f"killed {found.times} times in {time.monotonic() - began:.0f} s, with {CLIENTS} clients writing")
    print(f"acknowledged: {found.acknowledged}, all there" if not found.faults else "not all well:")
    print(f"on their way when the server died: {found.open}, of which {found.open_written} were written, whole")
    print(f"faults: {found.faults or 'none'}")
    raise SystemExit(bool(found.faults))


if __name__ == "__main__":
    main()
