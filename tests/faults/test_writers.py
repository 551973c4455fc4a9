"""Fifty people write to three lots and three batches at the same moment."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from nursery.database import make_engine
from tests.faults.writers import Told, faults_after, prepare, write_together
from tests.postgres import running_postgres

#: Refusals that say what to do: give less, look again, send again.
IN_WORDS = {"Invalid", "Conflict", "same code", "database is locked"}


@pytest.fixture
def server() -> Iterator[str]:
    with running_postgres() as address:
        yield address


def fifty_at_once(address: str) -> tuple[Told, list[str]]:
    """More is wanted than there is; the second answer is what does not add up afterwards."""
    engine = make_engine(address)
    ground = prepare(engine, milligrams=15_000, plants=600)
    told = write_together(address, ground, writers=50, seed_acts=2, plant_acts=1)
    faults = faults_after(engine, ground, told)
    engine.dispose()
    return told, faults


def test_on_sqlite_every_one_of_fifty_is_served_or_refused_in_words(tmp_path: Path) -> None:
    told, faults = fifty_at_once(f"sqlite:///{tmp_path / 'nursery.sqlite'}")

    assert (told.unclear, faults) == ([], [])
    assert told.done.total() + told.refused.total() == 150
    assert set(told.refused) <= IN_WORDS
    assert told.refused["Invalid"] > 0 < min(told.milligrams, told.plants)


@pytest.mark.postgres
def test_on_postgresql_every_one_of_fifty_is_served_or_refused_in_words(server: str) -> None:
    told, faults = fifty_at_once(server)

    assert (told.unclear, faults) == ([], [])
    assert told.done.total() + told.refused.total() == 150
    assert set(told.refused) <= {"Invalid", "Conflict"}  # nobody waits too long, and no code is given twice
    assert told.refused["Invalid"] > 0 < min(told.milligrams, told.plants)
