"""Many people who write to a few lots and batches at once; what each was told is compared at the end.

``python -m tests.faults.writers --writers 50 --acts 20`` does it on SQLite and PostgreSQL and prints the outcome.
"""

from __future__ import annotations

import argparse
import datetime as dt
import random
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Engine, func, select
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.orm import Session

from nursery.database import make_engine, make_sessions, upgrade, writing
from nursery.errors import NurseryError
from nursery.faults import Fault, fault_of
from nursery.models import Batch, Lot
from nursery.models.movements import Measure, MovementKind
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import batches, ledger
from nursery.services.safekeeping import find_faults
from tests.conftest import Maker
from tests.postgres import running_postgres

TODAY = dt.date(2026, 11, 25)
SOWN = dt.date(2026, 9, 1)
LOTS = BATCHES = 3


@dataclass
class Told:
    """What the writers were told, all together."""

    #: Acts by name, and refusals by their kind.
    done: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    #: Milligrams and plants that left for good, as acknowledged.
    milligrams: int = 0
    plants: int = 0
    #: What no person could have understood.
    unclear: list[str] = field(default_factory=list)
    seconds: float = 0.0


@dataclass(frozen=True)
class Ground:
    """Ids of what is written to."""

    lots: list[int]
    batches: list[int]
    site: int
    #: What all lots and all batches held.
    milligrams: int
    plants: int


def prepare(engine: Engine, *, milligrams: int, plants: int) -> Ground:
    """Lots of one stand and batches of one lot, in a database brought up to date."""
    upgrade(engine)
    with Session(engine, expire_on_commit=False) as session, session.begin():
        maker = Maker(session)
        stand = maker.population(region_code="R1")
        lots = [maker.lot(population=stand, amount_mg=milligrams) for _number in range(LOTS)]
        sown = maker.lot(population=stand, pieces=100_000, collected_on=dt.date(2026, 8, 20))
        container, site = maker.container(cells_per_tray=100), maker.site()
        grown = []
        for _number in range(BATCHES):
            batch = batches.sow(
                session, "Ana Seabra", lot=sown, seeds=5_000, trays=50, container_id=container.id,
                method=Method.DIRECT, protocol="", sown_on=SOWN, today=TODAY,
            )  # fmt: skip
            batches.record_count(
                session, "Ana Seabra", batch=batch, stage=Stage.EMERGED, counted_on=dt.date(2026, 10, 1),
                today=TODAY, plants=plants,
            )  # fmt: skip
            grown.append(batch.id)
        return Ground([lot.id for lot in lots], grown, site.id, LOTS * milligrams, BATCHES * plants)


class Writer:
    """One person with a session of their own, who does one act after the other."""

    def __init__(self, number: int, session: Session, ground: Ground) -> None:
        self.person, self.session, self.ground = f"person {number}", session, ground
        self.random = random.Random(number)  # noqa: S311 -- no secret
        self.told = Told()

    def seed(self, acts: int) -> Told:
        """Acts on the seed ledger."""
        return self._do(acts, [self.take, self.take, self.split_lot, self.mix])

    def plants(self, acts: int) -> Told:
        """Acts on the plant ledger."""
        return self._do(acts, [self.lose, self.lose, self.dispatch, self.split_batch])

    def _do(self, acts: int, kinds: list[Callable[[], tuple[int, int]]]) -> Told:
        for _number in range(acts):
            act = self.random.choice(kinds)
            try:
                milligrams, plants = act()
                self.session.commit()
            except NurseryError as refused:
                self._refused(type(refused).__name__)
            except IntegrityError:  # the pages say: somebody else was saving at this very moment
                self._refused("same code")
            except DBAPIError as error:
                if fault_of(error) is Fault.BUSY:
                    self._refused(str(error.orig).split("\n", maxsplit=1)[0])
                else:
                    self._unclear(error)
            except Exception as error:  # noqa: BLE001 -- told at the end
                self._unclear(error)
            else:
                self.told.done[act.__name__] += 1
                self.told.milligrams += milligrams
                self.told.plants += plants
        return self.told

    def _refused(self, kind: str) -> None:
        self.session.rollback()
        self.told.refused[kind] += 1

    def _unclear(self, error: Exception) -> None:
        self.session.rollback()
        self.told.unclear.append(f"{type(error).__name__}: {error}"[:300])

    def _lots(self, number: int) -> list[Lot]:
        return [self.session.get_one(Lot, one) for one in self.random.sample(self.ground.lots, number)]

    def _batch(self) -> Batch:
        return self.session.get_one(Batch, self.random.choice(self.ground.batches))

    def take(self) -> tuple[int, int]:
        (lot,), amount = self._lots(1), self.random.randint(500, 3_000)
        ledger.take_from_lot(
            self.session, self.person, lot=lot, kind=MovementKind.WITHDRAWN, measure=Measure.SEED, amount=amount,
            happened_on=TODAY, today=TODAY,
        )  # fmt: skip
        return amount, 0

    def split_lot(self) -> tuple[int, int]:
        (lot,) = self._lots(1)
        ledger.split_lot(self.session, self.person, lot=lot, amount=700, happened_on=TODAY, today=TODAY)
        return 0, 0

    def mix(self) -> tuple[int, int]:
        """Two lots in an order of chance, so that two writers may want them crosswise."""
        amounts = [(lot, 400) for lot in self._lots(2)]
        ledger.mix_lots(self.session, self.person, amounts=amounts, happened_on=TODAY, today=TODAY)
        return 0, 0

    def lose(self) -> tuple[int, int]:
        plants = self.random.randint(20, 150)
        batches.lose(
            self.session, self.person, batch=self._batch(), plants=plants, cause=Cause.PEST, happened_on=TODAY,
            today=TODAY,
        )  # fmt: skip
        return 0, plants

    def dispatch(self) -> tuple[int, int]:
        plants = self.random.randint(20, 150)
        batches.dispatch(
            self.session, self.person, batch=self._batch(), site_id=self.ground.site, plants=plants,
            happened_on=TODAY, today=TODAY,
        )  # fmt: skip
        return 0, plants

    def split_batch(self) -> tuple[int, int]:
        batches.split(self.session, self.person, batch=self._batch(), plants=100, happened_on=TODAY, today=TODAY)
        return 0, 0


def write_together(address: str, ground: Ground, *, writers: int, seed_acts: int, plant_acts: int) -> Told:
    """All writers at once, each with a connection of their own."""
    engine = make_engine(address, pool_size=writers, max_overflow=0)
    sessions, barrier = make_sessions(engine), threading.Barrier(writers)

    def work(number: int) -> Told:
        with writing(sessions) as session:
            writer = Writer(number, session, ground)
            session.connection()  # is open before the others begin
            session.rollback()
            barrier.wait()
            writer.seed(seed_acts)
            return writer.plants(plant_acts)

    began, whole = time.monotonic(), Told()
    with ThreadPoolExecutor(writers) as pool:
        for told in pool.map(work, range(writers)):
            whole.done += told.done
            whole.refused += told.refused
            whole.milligrams += told.milligrams
            whole.plants += told.plants
            whole.unclear += told.unclear
    whole.seconds = time.monotonic() - began
    engine.dispose()
    return whole


def faults_after(engine: Engine, ground: Ground, told: Told) -> list[str]:
    """What the database holds and nobody was told, or the other way round."""
    with Session(engine) as session:
        seed, least_seed = session.execute(
            select(func.sum(Lot.amount_mg), func.min(Lot.amount_mg)).where(Lot.amount_mg.is_not(None))
        ).one()
        plants, least_plants = session.execute(select(func.sum(Batch.alive), func.min(Batch.alive))).one()
        found = find_faults(session)
    if min(least_seed, least_plants) < 0:
        found.append(f"a balance is below zero: {least_seed} mg, {least_plants} plants")
    if seed != ground.milligrams - told.milligrams:
        found.append(f"{ground.milligrams} mg less {told.milligrams} acknowledged is not {seed}")
    if plants != ground.plants - told.plants:
        found.append(f"{ground.plants} plants less {told.plants} acknowledged is not {plants}")
    return found


@contextmanager
def databases() -> Iterator[list[tuple[str, str]]]:
    """A SQLite file and a PostgreSQL server, by name."""
    with tempfile.TemporaryDirectory() as folder, running_postgres() as server:
        yield [("SQLite", f"sqlite:///{Path(folder) / 'nursery.sqlite'}"), ("PostgreSQL", server)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--writers", type=int, default=50)
    parser.add_argument("--acts", type=int, default=20, help="of each writer on each of the two ledgers")
    asked = parser.parse_args()
    with databases() as places:
        for name, address in places:
            engine = make_engine(address)
            ground = prepare(engine, milligrams=asked.acts * 15_000, plants=asked.acts * 1_000)
            told = write_together(
                address, ground, writers=asked.writers, seed_acts=asked.acts, plant_acts=asked.acts
            )
            faults = faults_after(engine, ground, told)
            engine.dispose()
            print(f"{name}: {asked.writers} writers, {told.seconds:.1f} s")
            print(f"  acknowledged {told.done.total()}: {dict(told.done)}")
            print(f"  refused in words {told.refused.total()}: {dict(told.refused)}")
            print(f"  unclear {len(told.unclear)}: {told.unclear[:3]}")
            print(f"  faults found afterwards: {faults or 'none'}")


if __name__ == "__main__":
    main()
