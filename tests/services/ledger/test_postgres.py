"""Processes that write to one lot on PostgreSQL: never below zero, and what was acknowledged is what is gone."""

from __future__ import annotations

import datetime as dt
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, delete, func, select
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from nursery.database import make_engine, upgrade
from nursery.models import Lot, Population, Species
from nursery.models.movements import Measure, Movement
from nursery.services import ledger
from tests.postgres import running_postgres

pytestmark = pytest.mark.postgres
TODAY = dt.date(2026, 11, 25)
WRITERS = 4
#: What each process does: wait for the others, take until the lot refuses, tell what was taken.
WRITER = """
import datetime as dt, json, sys
from sqlalchemy.orm import Session
from nursery.database import make_engine
from nursery.errors import Invalid
from nursery.models import Lot
from nursery.models.movements import Measure, MovementKind
from nursery.services import ledger

day, amount, taken = dt.date(2026, 11, 25), int(sys.argv[2]), 0
engine = make_engine(sys.argv[1])
with Session(engine) as session:
    lot = session.get_one(Lot, 1)
    session.commit()
    print("ready", flush=True)
    sys.stdin.readline()
    while True:
        try:
            ledger.take_from_lot(session, sys.argv[2], lot=lot, kind=MovementKind.WITHDRAWN, measure=Measure.SEED,
                                 amount=amount, happened_on=day, today=day)
            session.commit()
        except Invalid:
            session.rollback()
            break
        taken += amount
engine.dispose()
print(json.dumps(taken))
"""


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    with running_postgres() as address:
        yield address


@pytest.fixture
def engine(server: str) -> Iterator[Engine]:
    engine = make_engine(server)
    upgrade(engine)
    with Session(engine) as session, session.begin():
        species = Species(key="quercus-suber", scientific_name="Quercus suber")
        stand = Population(code="P-1", name="Azenha", species=species, latitude=40.0, longitude=-7.0)
        lot = Lot(code="L/1", species=species, population=stand, collected_on=dt.date(2026, 10, 20),
                  ripening_year=2026, amount_mg=2000)  # fmt: skip
        session.add(lot)
        session.flush()
        ledger.open_balances(session, "Ana Seabra", [lot])
    yield engine
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP SCHEMA public CASCADE")
        connection.exec_driver_sql("CREATE SCHEMA public")
    engine.dispose()


def test_a_lot_is_emptied_by_processes_and_never_below_zero(engine: Engine, server: str) -> None:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(Path.cwd()), *sys.path])}
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, server, str(7 + number)], text=True, env=environment,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )
        for number in range(WRITERS)
    ]  # fmt: skip
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("go\n")
        writer.stdin.flush()
    taken = [json.loads(writer.communicate(timeout=60)[0]) for writer in writers]

    with Session(engine) as session:
        left = session.get_one(Lot, 1).amount_mg
        assert left is not None
        assert 0 <= left < 7 + WRITERS
        assert sum(taken) == 2000 - left
        assert session.scalar(select(func.sum(Movement.change))) == left
        assert ledger.wrong_balances(session) == []
    assert [writer.returncode for writer in writers] == [0] * WRITERS
    assert min(taken) > 0  # all of them had their turn


def test_the_ledger_reads_and_guards_itself_on_postgresql_too(engine: Engine) -> None:
    with Session(engine) as session:
        lot = session.get_one(Lot, 1)
        part = ledger.split_lot(session, "Ana Seabra", lot=lot, amount=500, happened_on=TODAY, today=TODAY)
        assert ledger.lot_shares(session, part) == {lot: 1.0}
        assert [(entry.change, entry.balance) for entry in ledger.read_ledger(session, lot)] == [
            (-500, 1500), (2000, 2000),
        ]  # fmt: skip
        ledger.recount_lot(
            session, "Ana Seabra", lot=lot, measure=Measure.SEED, counted=1400, reason="", happened_on=TODAY,
            today=TODAY,
        )  # fmt: skip
        session.commit()
        with pytest.raises(DBAPIError, match="the ledger is only added to"):
            session.execute(delete(Movement))
