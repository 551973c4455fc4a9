"""The record of changes: every transaction is sealed, and tampering shows."""

from __future__ import annotations

import hashlib
import json
import threading

import pytest
from sqlalchemy import Engine, select, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from nursery.database import make_sessions, writing
from nursery.models import Change, Seal, StoragePlace
from nursery.services import auditing
from nursery.services.auditing import broken_seals, newest_seal, record, record_many
from tests.tampering import tampered

ANA = "Ana Seabra"
INSERTED = (
    "INSERT INTO changes (at, person, action, subject, subject_id, details)"
    " VALUES ('2026-01-01 00:00:00.000000', 'x', 'created', 'lots', 1, '{}')"
)


def write(session: Session, name: str) -> StoragePlace:
    row = StoragePlace(name=name)
    session.add(row)
    record(session, ANA, action="created", row=row)
    return row


@pytest.fixture
def filled(session: Session) -> Session:
    """Three transactions of two changes each."""
    for number in range(3):
        write(session, f"Shelf {number}")
        row = write(session, f"Fridge {number}")
        row.notes = "é€𝒳"
        session.commit()
    return session


def test_every_change_is_sealed_when_its_transaction_ends(filled: Session) -> None:
    seals = filled.execute(select(Seal.id, Seal.change_id).order_by(Seal.id)).all()

    assert [tuple(row) for row in seals] == [(number, number) for number in range(1, 7)]
    assert broken_seals(filled) == []


def test_the_seal_can_be_worked_out_by_any_program(filled: Session) -> None:
    """Written out here from the description alone: SHA-256 over the seal before, a line break and sorted JSON."""
    before = "0" * 64
    for change, kept in filled.execute(select(Change, Seal.hash).join(Seal).order_by(Seal.id)):
        told = json.dumps(
            {
                "account_id": change.account_id, "action": change.action, "at": change.at.isoformat(),
                "details": change.details, "id": change.id, "person": change.person, "reason": change.reason,
                "subject": change.subject, "subject_id": change.subject_id,
            },
            sort_keys=True, ensure_ascii=False, separators=(",", ":"),
        )  # fmt: skip
        before = hashlib.sha256((before + "\n" + told).encode()).hexdigest()
        assert kept == before
    assert newest_seal(filled) == (6, before)


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE changes SET person = 'Nobody' WHERE id = 3", ["Change 3 of"]),
        ("UPDATE changes SET details = '{}' WHERE id = 6", ["Change 6 of"]),
        ("UPDATE changes SET at = '2020-01-01 00:00:00.000000' WHERE id = 1", ["Change 1 of"]),
        ("UPDATE seals SET hash = 'x' WHERE id = 4", ["Change 4 of", "Change 5 of"]),
        ("DELETE FROM changes WHERE id = 2", ["Change 2 was taken away"]),
        ("DELETE FROM seals WHERE id = 5", ["Change 5 (storage_places", "Seals 5 to 5 are missing"]),
        (
            INSERTED,
            ["Change 7 (lots, row 1) has no seal"],
        ),
    ],
)
def test_tampering_shows_and_names_the_change(
    filled: Session, engine: Engine, statement: str, told: list[str]
) -> None:
    filled.close()
    tampered(engine, statement)
    found = broken_seals(filled)

    assert len(found) == len(told)
    for fault, start in zip(found, told, strict=True):
        assert fault.startswith(start)


def test_who_kept_the_newest_seal_sees_a_chain_that_was_made_anew(filled: Session, engine: Engine) -> None:
    kept = newest_seal(filled)
    filled.close()
    tampered(engine, "UPDATE changes SET person = 'Nobody' WHERE id = 6", "DELETE FROM seals WHERE id = 6")
    with Session(engine) as forger:
        forger.info[auditing.UNSEALED] = [6]
        forger.commit()

    assert broken_seals(filled) == []  # the chain itself is whole again
    assert newest_seal(filled) != kept


def test_the_database_refuses_to_change_or_delete_what_is_on_record(filled: Session) -> None:
    for statement in ("UPDATE changes SET person = 'x'", "DELETE FROM changes", "DELETE FROM seals"):
        with pytest.raises(DatabaseError, match="only added to"):
            filled.execute(text(statement))
        filled.rollback()


def test_what_was_taken_back_leaves_no_change_and_no_seal(session: Session) -> None:
    write(session, "Shelf")
    nested = session.begin_nested()
    write(session, "Never")
    nested.rollback()
    write(session, "Fridge")
    session.commit()
    write(session, "Never again")
    session.rollback()
    session.commit()

    names = [details["name"][1] for details in session.scalars(select(Change.details).order_by(Change.id))]
    assert names == ["Shelf", "Fridge"]
    assert newest_seal(session)[0] == 2
    assert broken_seals(session) == []


def test_many_changes_at_once_are_sealed_with_the_others(session: Session) -> None:
    write(session, "Shelf")
    record_many(
        session,
        ANA,
        action="imported",
        subject="lots",
        details={n: {"area": [None, 1 / n]} for n in range(1, 400)},
    )
    write(session, "Fridge")
    session.commit()

    assert newest_seal(session)[0] == 401
    assert broken_seals(session) == []


def test_a_reason_given_among_the_fields_is_the_change_s_reason(session: Session) -> None:
    row = write(session, "Shelf")
    record(session, ANA, action="changed", row=row, details={"reason": [None, "The door does not close"]})
    session.flush()

    assert session.scalars(select(Change.reason).order_by(Change.id)).all() == ["", "The door does not close"]


def write_at_once(engine: Engine) -> list[Exception]:
    """Eight writers, each with five transactions of its own; what went wrong."""
    sessions = make_sessions(engine)
    failed: list[Exception] = []

    def work(number: int) -> None:
        try:
            for turn in range(5):
                with writing(sessions) as session:
                    write(session, f"Shelf {number}.{turn}")
                    session.commit()
        except Exception as error:  # noqa: BLE001 -- told by the test
            failed.append(error)

    threads = [threading.Thread(target=work, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return failed


def test_writers_at_once_make_one_chain(engine: Engine, session: Session) -> None:
    assert write_at_once(engine) == []
    assert newest_seal(session)[0] == 40
    assert broken_seals(session) == []
