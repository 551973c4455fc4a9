"""A database that is broken in one way: the check names that way, and nothing else."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Engine, make_url
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Attachment, Batch, Lot, Movement, PlantMovement
from nursery.models.movements import Measure, MovementKind
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import attachments, batches, ledger
from nursery.services.safekeeping import find_faults
from tests.conftest import TODAY, Maker
from tests.databases import Kept
from tests.tampering import tampered

ANA = "Ana Seabra"
PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"


def write(session: Session) -> None:
    """One lot with an act taken back, one batch with a loss taken back, one file, one place."""
    maker = Maker(session)
    lot = maker.lot(code="L/1", storage_place_id=maker.place().id)
    sown = maker.lot(code="L/2", pieces=1_000)
    taken = ledger.take_from_lot(
        session, ANA, lot=lot, kind=MovementKind.WITHDRAWN, measure=Measure.SEED, amount=2_000,
        happened_on=TODAY, today=TODAY,
    )  # fmt: skip
    ledger.reverse_act(session, ANA, act=taken.act, reason="slip", today=TODAY)
    batch = batches.sow(
        session, ANA, lot=sown, seeds=400, trays=10, container_id=maker.container().id, method=Method.DIRECT,
        protocol="", sown_on=TODAY, today=TODAY,
    )  # fmt: skip
    batches.record_count(session, ANA, batch=batch, stage=Stage.EMERGED, counted_on=TODAY, today=TODAY, plants=300)
    lost = batches.lose(session, ANA, batch=batch, plants=20, cause=Cause.PEST, happened_on=TODAY, today=TODAY)
    batches.reverse_act(session, ANA, act=lost.act, reason="slip", today=TODAY)
    batch.code = "B-1"
    attachments.add_attachment(session, ANA, row=lot, file_name="permit.pdf", content=PDF)


@pytest.fixture
def sound(empty_database: Kept, made_once: Callable[..., Kept], tmp_path: Path) -> Engine:
    """A database without a fault, of this test's own."""
    return make_engine(made_once("sound", empty_database, write).copy(tmp_path))


def faults_of(engine: Engine) -> list[str]:
    with Session(engine) as session:
        found = find_faults(session)
    engine.dispose()
    return found


def test_a_sound_database_has_none(sound: Engine) -> None:
    with Session(sound) as session:
        rows = [session.query(model).count() for model in (Lot, Movement, Batch, PlantMovement, Attachment)]
    assert (rows, faults_of(sound)) == ([2, 5, 1, 3, 1], [])


OF_RECORDS = [
    ("UPDATE lots SET amount_mg = 1 WHERE code = 'L/1'",
     ["Lot L/1 holds 0.001 g, but its movements come to 500 g."]),
    ("UPDATE movements SET change = change - 3000 WHERE kind = 'collected' AND measure = 'seed'",
     ["Lot L/1 holds 500 g, but its movements come to 497 g."]),
    ("UPDATE batches SET alive = 299",
     ["Batch B-1 holds 299 plants, but its movements come to 300 plants."]),
    ("UPDATE plant_movements SET kind = 'split' WHERE kind = 'counted'",
     ["Splits and mergers should only move plants between batches, but they come to 300 plants."]),
    (("UPDATE movements SET change = change + 1000 WHERE kind = 'reversal'; "
      "UPDATE lots SET amount_mg = amount_mg + 1000 WHERE code = 'L/1'"),
     ["Entry 4 of movements does not take back what it says, entry 3."]),
    (("UPDATE plant_movements SET change = change - 5 WHERE kind = 'reversal'; "
      "UPDATE batches SET alive = alive - 5"),
     ["Entry 3 of plant_movements does not take back what it says, entry 2."]),
    ("DELETE FROM storage_places",
     ["1 row of lots points at a missing row of storage_places (storage_place_id)."]),
    ("UPDATE plant_movements SET other_batch_id = 77 WHERE kind = 'lost'",
     ["1 row of plant_movements points at a missing row of batches (other_batch_id)."]),
    ("UPDATE attachments SET subject_id = 9999",
     ["1 attached file belongs to a record of lots that is missing."]),
    ("UPDATE attachments SET file_name = 'other.pdf', digest = 'x'",
     ["The attached file “other.pdf” is not what was taken in: its content was altered."]),
]  # fmt: skip


@pytest.mark.parametrize(("statements", "told"), OF_RECORDS)
def test_what_is_wrong_with_records_is_named(sound: Engine, statements: str, told: list[str]) -> None:
    tampered(sound, *statements.split("; "))

    assert faults_of(sound) == told


OF_CHANGES = [
    ("UPDATE changes SET person = 'Nobody' WHERE id = (SELECT max(id) FROM changes)",
     r"Change \d+ of .* is not what was sealed: it, or the seal before it, was altered\."),
    ("DELETE FROM changes WHERE id = (SELECT max(id) FROM changes)",
     r"Change \d+ was taken away; its seal is still there\."),
    ("DELETE FROM seals WHERE id = (SELECT max(id) FROM seals)",
     r"Change \d+ \(lots, row 1\) has no seal: it was not written by the planner\."),
]  # fmt: skip


@pytest.mark.parametrize(("statement", "told"), OF_CHANGES)
def test_a_broken_chain_of_changes_is_named(sound: Engine, statement: str, told: str) -> None:
    tampered(sound, statement)
    found = faults_of(sound)
    chain = [fault for fault in found if "points at a missing row" not in fault]

    assert len(chain) == 1
    assert re.fullmatch(told, chain[0])


OF_MIGRATIONS = [
    ("UPDATE alembic_version SET version_num = '9999'",
     ["The database says that its version is 9999, which is none of ours."]),
    ("DELETE FROM alembic_version", ["The database does not say of which version its tables are."]),
    ("DROP TABLE preferences", ["The table preferences is missing."]),
    ("ALTER TABLE sites DROP COLUMN notes", ["The table sites lacks its column notes."]),
    ("ALTER TABLE sites ADD COLUMN mood VARCHAR", ["The table sites has a column too many, mood."]),
    ("DROP INDEX ix_movements_act", ["The table movements lacks its rule ix_movements_act."]),
]  # fmt: skip


@pytest.mark.parametrize(("statement", "told"), OF_MIGRATIONS)
def test_a_schema_that_is_not_of_this_version_is_named(sound: Engine, statement: str, told: list[str]) -> None:
    tampered(sound, statement)

    assert faults_of(sound) == told


#: Each database has its own words for them.
WITHOUT_RULES = {
    "sqlite": (
        "PRAGMA writable_schema=ON",
        (
            "UPDATE sqlite_master SET sql ="
            " replace(sql, 'CONSTRAINT ck_sites_area_ha CHECK (area_ha > 0)', 'CHECK (1)') WHERE name = 'sites'"
        ),
        "UPDATE sqlite_master SET sql = replace(sql, 'area_ha DOUBLE', 'area_ha DATE') WHERE name = 'sites'",
        "PRAGMA writable_schema=RESET",
    ),
    "postgresql": (
        "ALTER TABLE sites DROP CONSTRAINT ck_sites_area_ha",
        "ALTER TABLE sites ALTER COLUMN area_ha TYPE date USING NULL",
    ),
}


def test_a_column_of_another_kind_and_a_rule_that_is_gone_are_named(sound: Engine) -> None:
    tampered(sound, *WITHOUT_RULES[sound.dialect.name])

    assert faults_of(sound) == [
        "The column area_ha of the table sites is not of its kind.",
        "The table sites lacks its rule ck_sites_area_ha.",
    ]


def test_a_ledger_without_its_guard_is_named(sound: Engine) -> None:
    unguarded = {"sqlite": "DROP TRIGGER seals_no_delete", "postgresql": "DROP TRIGGER seals_only_added ON seals"}
    with sound.begin() as connection:
        connection.exec_driver_sql(unguarded[sound.dialect.name])

    assert faults_of(sound) == [
        "The ledger seals is not guarded against changes any more: its triggers are missing."
    ]


@pytest.mark.sqlite
def test_a_damaged_file_is_named_and_nothing_else_is_asked(sound: Engine) -> None:
    file = Path(make_url(str(sound.url)).database or "")
    with sound.connect() as connection:
        (page,) = connection.exec_driver_sql(
            "SELECT rootpage FROM sqlite_master WHERE name = 'ix_movements_act'"
        ).one()
        (size,) = connection.exec_driver_sql("PRAGMA page_size").one()
    sound.dispose()
    content = bytearray(file.read_bytes())
    content[(page - 1) * size : page * size] = bytes(size)
    file.write_bytes(content)
    found = faults_of(sound)

    assert len(found) > 0
    assert {fault.partition(":")[0] for fault in found} == {"The database's file is damaged"}
