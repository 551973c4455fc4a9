"""Pages or their database under write load, killed at moments of chance: what was acknowledged is there, once.

``python -m tests.faults.kill --times 200`` kills the pages over SQLite and prints what was found; with
``--postgres`` over PostgreSQL, and with ``--server`` it is the PostgreSQL server that is killed and started again,
while the pages go on without being started again themselves.
"""

from __future__ import annotations

import argparse
import random
import re
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from sqlalchemy import Engine, func, select, text
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Batch, Change, Lot, Movement, PlantMovement
from nursery.services.batches.checking import wrong_plant_balances
from nursery.services.ledger import wrong_balances
from nursery.services.safekeeping import find_faults
from tests.faults.cluster import Cluster, await_others, cluster
from tests.faults.loads import CLIENTS, TAKEN, Answers, People
from tests.faults.serving import kill, start
from tests.faults.writers import Ground, prepare
from tests.signing_in import write_sign_in

#: Seconds of load, at most, before the blow.
LONGEST = 0.8


@dataclass
class Found:
    """What came of all rounds."""

    times: int = 0
    told: Answers = field(default_factory=Answers)
    #: Written, of those whose sender could not know.
    unsure_written: int = 0
    unanswered_written: int = 0
    faults: list[str] = field(default_factory=list)


class Victim(Protocol):
    """What is killed, and how it comes back."""

    def begin(self) -> int:
        """Port of pages that are there."""

    def strike(self, chance: random.Random, people: People) -> None:
        """Kill; return when nothing more can be written for who was there before."""

    def end(self) -> None:
        """Leave nothing running."""


class Pages:
    """The process that serves the pages: a new one each time."""

    def __init__(self, address: str, folder: Path, engine: Engine) -> None:
        self.address, self.folder, self.engine = address, folder, engine

    def begin(self) -> int:
        """Start them."""
        self.process, port = start(self.address, self.folder)
        return port

    def strike(self, chance: random.Random, people: People) -> None:
        """Kill them; a server is given time to notice."""
        del chance, people  # pages die in one way, whoever is there
        kill(self.process)
        if self.engine.dialect.name == "postgresql":
            await_others(self.engine)

    def end(self) -> None:
        """They are dead already."""


class Server:
    """The PostgreSQL server: killed, or stopped at once, and started again under pages that stay."""

    def __init__(self, own: Cluster, folder: Path) -> None:
        self.cluster, self.folder = own, folder
        self.process: subprocess.Popen[str] | None = None

    def begin(self) -> int:
        """The same pages all the time."""
        if self.process is None:
            self.process, self.port = start(self.cluster.address, self.folder)
        return self.port

    def strike(self, chance: random.Random, people: People) -> None:
        """Kill the server, let people run into it, start it, and wait until somebody could save again."""
        if chance.random() < 0.5:
            self.cluster.kill()
        else:
            self.cluster.stop(signal.SIGQUIT)
        time.sleep(chance.uniform(0, 0.3))
        self.cluster.start()
        people.await_saved()

    def end(self) -> None:
        """Now the pages go too."""
        if self.process is not None:
            kill(self.process)


@contextmanager
def victim(kind: str, folder: Path) -> Iterator[tuple[Engine, Victim]]:
    """An empty database, and what is to be killed: ``sqlite``, ``postgres`` or ``server``."""
    if kind == "sqlite":
        address = f"sqlite:///{folder / 'nursery.sqlite'}"
        engine = make_engine(address)
        yield engine, Pages(address, folder, engine)
        engine.dispose()
        return
    with cluster() as own:
        engine = make_engine(own.address)
        one = Pages(own.address, folder, engine) if kind == "postgres" else Server(own, folder)
        yield engine, one
        one.end()
        engine.dispose()


def kill_often(kind: str, folder: Path, times: int, *, seed: int = 7, tell: bool = False) -> Found:
    """Serve, load, kill, look; again and again on one database."""
    chance, found = random.Random(seed), Found()  # noqa: S311 -- no secret
    with victim(kind, folder) as (engine, one):
        ground = prepare(engine, milligrams=10_000_000, plants=4_900)
        with Session(engine) as session, session.begin():
            write_sign_in(session)
        people = People(ground)
        for number in range(times):
            people.meet(one.begin())
            people.begin(str(number))
            time.sleep(chance.uniform(0, LONGEST))
            one.strike(chance, people)
            found.told.add(people.end())
            found.times += 1
            compare(engine, ground, found)
            if tell and (number + 1) % 20 == 0:
                print(
                    f"{number + 1} times, {len(found.told.saved)} saved: {found.faults or 'no fault'}", flush=True
                )
        people.leave()
        with Session(engine) as session:
            found.faults += find_faults(session)
    found.faults += found.told.strange
    return found


def compare(engine: Engine, ground: Ground, found: Found) -> None:
    """What people were told against what the database holds after its recovery."""
    told = found.told
    with Session(engine) as session:
        seed, plants = marks(session, Movement), marks(session, PlantMovement)
        signed = session.scalar(select(func.count()).select_from(Change).where(Change.account_id.is_not(None)))
        milligrams, alive = (
            session.scalar(select(func.sum(Lot.amount_mg))),
            session.scalar(select(func.sum(Batch.alive))),
        )
        if engine.dialect.name == "sqlite":
            found.faults += [line for line in session.scalars(text("PRAGMA integrity_check")) if line != "ok"]
        found.faults += [*wrong_balances(session), *wrong_plant_balances(session)]
    every, written = [*seed, *plants], {*seed, *plants}
    found.faults += [f"acknowledged and lost: {mark}" for mark in sorted(told.saved - written)]
    found.faults += [f"said not to be written, and is: {mark}" for mark in sorted(told.refused & written)]
    found.faults += [
        f"nobody asked for it: {mark}" for mark in sorted(written - told.saved - told.unsure - told.unanswered)
    ]
    if len(every) != len(written):
        found.faults.append("something was written twice")
    if signed != len(written):
        found.faults.append(f"{signed} changes of somebody signed in for {len(written)} forms")
    if (milligrams, alive) != (ground.milligrams - TAKEN * len(seed), ground.plants - len(plants)):
        found.faults.append(f"{milligrams} mg and {alive} plants after {len(seed)} and {len(plants)} forms")
    found.unsure_written, found.unanswered_written = len(told.unsure & written), len(told.unanswered & written)


def marks(session: Session, model: type[Movement | PlantMovement]) -> list[str]:
    """The remarks of our people in a ledger."""
    return [reason for reason in session.scalars(select(model.reason)) if re.fullmatch(r"\d+-\d+-\d+", reason)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7, help="of the moments of chance")
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument("--postgres", dest="kind", action="store_const", const="postgres", default="sqlite")
    kind.add_argument("--server", dest="kind", action="store_const", const="server")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        began = time.monotonic()
        found = kill_often(asked.kind, Path(folder), asked.times, seed=asked.seed, tell=True)
    told = found.told
    print(f"{asked.kind}: killed {found.times} times in {time.monotonic() - began:.0f} s, {CLIENTS} people saving")
    print(f"acknowledged: {len(told.saved)}; told that nothing was written: {len(told.refused)}")
    print(f"told to look: {len(told.unsure)}, of which {found.unsure_written} were written, whole")
    print(f"without an answer: {len(told.unanswered)}, of which {found.unanswered_written} were written, whole")
    print(f"faults: {found.faults or 'none'}")
    raise SystemExit(bool(found.faults))


if __name__ == "__main__":
    main()
