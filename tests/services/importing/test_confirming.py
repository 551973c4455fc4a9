"""Writing a file: all rows or none, with a note of each record, and the same file twice changes nothing."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Change, Lot, Movement, Population, Species, StoragePlace
from nursery.models.places import IndigenousStatus
from nursery.models.seed_tests import TestKind
from nursery.services import importing
from nursery.services.ledger import wrong_balances
from nursery.services.seed_tests import record_test
from tests.services.permits.permit_maker import make_permit

ACTOR = "Ana Seabra"
HEAD = "code;name;species;latitude;longitude;elevation;status\n"
TWO = HEAD + "P-8;Serra;sobreiro;38,3;-8,3;240,5;autóctone\nP-9;Vale;Quercus ilex;38,4;-8,4;;\n"

FILES = {
    "populations": TWO,
    "sites": "code,name,latitude,longitude,area,planting opens\nS-8,Encosta,38.2,-8.2,2.5,15/11\n",
    "lots": (
        "code,population,collected on,ripening year,amount,pieces,germination,tested on\n"
        "ABC 1,P-1,2026-10-28,2026,1250.5,,85 %,2026-11-10\n"
        ",P-2,2026-01-15,2026,,300,,\n"
    ),
    "targets": (
        "site,species,season,plants,plants per hectare,share,survival year,assurance,plant on\n"
        "S-1,Quercus ilex,2027/28,500,,,,90 %,2027-11-20\n"
        "S-1,Quercus suber,2027/28,,1100,25 %,,,\n"
        "S-2,Quercus suber,2028,300,,,3,,\n"
    ),
}


def count(session: Session, model: type[Any]) -> int:
    return session.scalar(select(func.count()).select_from(model)) or 0


def test_new_records_have_what_the_file_says_and_the_defaults(desk: Any, session: Session) -> None:
    outcome = desk.bring("populations", TWO)

    first, second = session.scalars(select(Population).order_by(Population.code))
    assert (outcome.new, outcome.changed, outcome.unchanged) == (2, 0, 0)
    assert (first.code, first.name, first.species.key) == ("P-8", "Serra", "quercus-suber")
    assert (first.latitude, first.longitude, first.elevation_m) == (38.3, -8.3, 240.5)
    assert first.indigenous_status is IndigenousStatus.AUTOCHTHONOUS
    assert (second.indigenous_status, second.basin, second.notes) == (IndigenousStatus.UNKNOWN, "", "")
    assert (second.version, second.archived_at, second.fruiting_plants) == (1, None, None)


def test_each_new_record_is_noted_with_its_person_and_file(desk: Any, session: Session) -> None:
    desk.bring("populations", TWO)

    records = session.scalars(select(Population).order_by(Population.code)).all()
    noted = session.scalars(select(Change).where(Change.subject == "populations").order_by(Change.id)).all()
    assert [(change.person, change.action, change.subject_id) for change in noted] == [
        (ACTOR, "imported", record.id) for record in records
    ]
    assert noted[1].details == {
        "code": [None, "P-9"],
        "name": [None, "Vale"],
        "species_id": [None, records[1].species_id],
        "latitude": [None, 38.4],
        "longitude": [None, -8.4],
        "indigenous_status": [None, "unknown"],
        "category": [None, "source-identified"],
        "basic_material": [None, "seed source"],
        "is_sensitive": [None, False],
        "file_name": [None, "file.csv"],
    }


@pytest.mark.parametrize("kind", FILES)
def test_the_same_file_again_changes_nothing(desk: Any, basin: None, session: Session, kind: str) -> None:
    first = desk.bring(kind, FILES[kind])
    session.commit()
    records, changes = count(session, importing.find_kind(kind).model), count(session, Change)

    again = desk.bring(kind, FILES[kind])

    rows = FILES[kind].count("\n") - 1
    assert (first.new, first.changed, first.unchanged) == (rows, 0, 0)
    assert (again.new, again.changed, again.unchanged) == (0, 0, rows)
    assert count(session, importing.find_kind(kind).model) == records
    assert count(session, Change) == changes + 2  # the file was kept and confirmed, no record changed


def test_a_changed_cell_changes_that_field_alone(desk: Any, session: Session) -> None:
    desk.bring("populations", TWO)

    outcome = desk.bring("populations", "CODE,elevation,basin\np-8,250,Rio Novo\nP-9,,\n")

    changed = session.scalars(select(Population).where(Population.code == "P-8")).one()
    note = session.scalars(
        select(Change).where(Change.subject == "populations").order_by(Change.id.desc())
    ).first()
    assert (outcome.new, outcome.changed, outcome.unchanged) == (0, 1, 1)
    assert (changed.elevation_m, changed.basin, changed.name, changed.version) == (250, "Rio Novo", "Serra", 2)
    assert note is not None
    assert note.details == {
        "elevation_m": [240.5, 250.0],
        "basin": ["", "Rio Novo"],
        "file_name": [None, "file.csv"],
    }


def test_an_empty_cell_takes_nothing_away(desk: Any, session: Session) -> None:
    desk.bring("populations", TWO)

    outcome = desk.bring("populations", HEAD + "P-8;;;;;;\n")

    assert outcome.unchanged == 1
    assert session.scalars(select(Population).where(Population.code == "P-8")).one().elevation_m == 240.5


def test_one_bad_row_stops_the_whole_file(desk: Any, session: Session, today: dt.date) -> None:
    content = (TWO + "P-7;Foz;Quercus ilex;98,4;-8,4;;\n").encode()
    upload = importing.keep_upload(session, ACTOR, kind="populations", file_name="a.csv", content=content)

    with pytest.raises(Invalid) as caught:
        importing.confirm(session, ACTOR, upload_id=upload.id, today=today)

    assert caught.value.errors == {
        "file": "1 row is refused, so nothing was written. Correct it and choose the file again."
    }
    assert (count(session, Population), upload.confirmed_at) == (0, None)


def test_only_what_was_seen_can_be_confirmed(desk: Any, session: Session, today: dt.date) -> None:
    upload = importing.keep_upload(session, ACTOR, kind="populations", file_name="a.csv", content=TWO.encode())
    seen = importing.preview_upload(session, upload_id=upload.id, today=today).fingerprint
    desk.bring("populations", HEAD + "P-8;Serra;sobreiro;38,3;-8,3;1;\n")

    with pytest.raises(Conflict):
        importing.confirm(session, ACTOR, upload_id=upload.id, today=today, seen=seen)

    assert count(session, Population) == 1


def test_a_record_changed_by_somebody_else_meanwhile_stops_the_whole_file(
    desk: Any, session: Session, today: dt.date, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.bring("populations", TWO)
    session.commit()
    content = b"code,elevation\nP-8,1\nP-9,2\n"
    upload = importing.keep_upload(session, ACTOR, kind="populations", file_name="b.csv", content=content)
    seen = importing.preview_upload(session, upload_id=upload.id, today=today)
    session.execute(update(Population).where(Population.code == "P-9").values(version=7))
    monkeypatch.setattr(importing.confirming, "preview_upload", lambda *_a, **_k: seen)

    with pytest.raises(Conflict):
        importing.confirm(session, ACTOR, upload_id=upload.id, today=today)

    session.rollback()
    assert session.scalars(select(Population.elevation_m).order_by(Population.code)).all() == [240.5, None]


def test_a_second_click_on_yes_does_no_harm(desk: Any, session: Session, today: dt.date) -> None:
    upload = importing.keep_upload(session, ACTOR, kind="populations", file_name="a.csv", content=TWO.encode())
    seen = importing.preview_upload(session, upload_id=upload.id, today=today).fingerprint

    outcomes = [
        importing.confirm(session, ACTOR, upload_id=upload.id, today=today, seen=seen) for _click in range(2)
    ]

    assert [(o.new, o.unchanged) for o in outcomes] == [(2, 0), (0, 2)]
    last = importing.last_outcome(session, upload_id=upload.id)
    assert last is not None
    assert last.new == 2


def test_a_mapping_chosen_by_hand_is_what_is_written(desk: Any, session: Session, today: dt.date) -> None:
    content = b"a,b,c,d,e\nP-8,Serra,sobreiro,38.3,-8.3\n"
    mapping = ["code", "name", "species", "latitude", "longitude"]
    upload = importing.keep_upload(session, ACTOR, kind="populations", file_name="a.csv", content=content)

    outcome = importing.confirm(session, ACTOR, upload_id=upload.id, today=today, mapping=mapping)

    assert outcome.new == 1
    assert session.scalars(select(Population.name)).all() == ["Serra"]


def test_lots_are_weighed_in_milligrams_and_nameless_ones_get_a_code(
    desk: Any, basin: None, session: Session
) -> None:
    desk.bring("lots", FILES["lots"])

    own, given = session.scalars(select(Lot).order_by(Lot.id))
    assert (own.code, own.amount_mg, own.pieces, own.germination) == ("ABC 1", 1_250_500, None, 0.85)
    assert (own.species.key, own.tested_on) == ("quercus-ilex", dt.date(2026, 11, 10))
    assert (given.pieces, given.amount_mg, given.species.key) == (300, None, "salix-atrocinerea")
    assert (
        importing.preview(
            session, kind="lots", file_name="c.csv", content=f"code\n{given.code}\n".encode(), today=desk.today
        ).unchanged
        == 1
    )  # its check character fits


def test_nameless_lots_of_one_species_and_year_get_different_codes(
    desk: Any, basin: None, session: Session
) -> None:
    head = "population,collected on,ripening year,amount\n"
    desk.bring("lots", head + "P-1,2026-10-01,2026,1\n")

    desk.bring("lots", head + "P-1,2026-10-02,2026,1\nP-1,2026-10-03,2026,1\n")

    codes = session.scalars(select(Lot.code).order_by(Lot.id)).all()
    assert len(set(codes)) == 3
    assert {code[:6] for code in codes} == {codes[0][:6]}


def test_a_nameless_row_finds_its_lot_again_and_changes_it(desk: Any, basin: None, session: Session) -> None:
    head = "population,collected on,ripening year,amount\n"
    desk.bring("lots", head + "P-1,2026-10-01,2026,100\n")

    outcome = desk.bring("lots", head + "P-1,2026-10-01,2026,80\n")

    assert (outcome.new, outcome.changed) == (0, 1)
    assert session.scalars(select(Lot.amount_mg)).all() == [80_000]


LOT_HEAD = "population,collected on,ripening year,amount,germination,tested on,purity,tsw\n"
LOT_ROW = "P-1,2026-10-01,2026,100,"


def test_a_figure_that_a_test_rules_is_not_overwritten_by_a_file(
    desk: Any, basin: None, session: Session, today: dt.date
) -> None:
    desk.bring("lots", LOT_HEAD + LOT_ROW + "80 %,2026-10-20,95 %,3400\n")
    lot = session.scalars(select(Lot)).one()
    record_test(
        session, "Ana", lot=lot, kind=TestKind.GERMINATION, tested_on=dt.date(2026, 11, 20), today=today,
        readings={"counts": [91, 95, 88, 90], "seeds": 100},
    )  # fmt: skip

    told = (
        "The test of 20 Nov 2026 rules this figure: 91 %. Leave the cell empty, record a newer test, or withdraw"
        " that one if it was wrong."
    )
    assert desk.reasons("lots", LOT_HEAD + LOT_ROW + "88 %,2026-11-22,96 %,3400\n") == [
        (2, "germination", "88 %", told), (2, "tested on", "2026-11-22", told),
    ]  # fmt: skip
    outcome = desk.bring("lots", LOT_HEAD + LOT_ROW + "91 %,2026-11-20,96 %,\n")
    session.expire_all()
    assert (outcome.changed, lot.germination, lot.purity) == (1, 0.91, 0.96)


def test_a_file_that_moves_a_lot_dates_the_move_and_remembers_a_place_that_kills(
    desk: Any, basin: None, session: Session, today: dt.date
) -> None:
    session.add_all([StoragePlace(name="Freezer", temperature_c=-18.0), StoragePlace(name="Fridge")])
    session.flush()
    head = "population,collected on,ripening year,amount,storage place,moisture\n"
    desk.bring("lots", head + "P-1,2026-10-01,2026,100,Freezer,\nP-2,2026-10-01,2026,100,Freezer,\n")
    desk.bring("lots", head + "P-1,2026-10-01,2026,100,Fridge,40\nP-2,2026-10-01,2026,100,Fridge,\n")

    lots = session.scalars(select(Lot).order_by(Lot.id))
    # Acorns die in a freezer; seed of willows does not.
    assert [(lot.stored_on, lot.harmed_on, lot.moisture_on) for lot in lots] == [
        (today, today, today), (today, None, None),
    ]  # fmt: skip


def test_an_amount_that_a_file_finds_to_be_more_is_asked_of_the_permit_and_holds_what_it_pushes_out(
    session: Session, desk: Any, basin: None
) -> None:
    species = session.scalars(select(Species).where(Species.scientific_name == "Quercus ilex")).one()
    make_permit(session, {"species_id": species.id, "cap_mg": 150_000})
    head = "code,population,collected on,ripening year,amount\n"
    desk.bring("lots", head + "A,P-1,2026-10-28,2026,100\nB,P-1,2026-10-29,2026,50\n")
    assert session.scalars(select(Lot.is_held).order_by(Lot.code)).all() == [False, False]

    desk.bring("lots", head + "A,P-1,2026-10-28,2026,120\nB,P-1,2026-10-29,2026,50\n")
    assert session.scalars(select(Lot.is_held).order_by(Lot.code)).all() == [False, True]
    desk.bring("lots", head + "A,P-1,2026-10-28,2026,160\n")

    assert session.scalars(select(Lot.is_held).order_by(Lot.code)).all() == [True, True]


def test_an_imported_amount_opens_the_ledger_and_another_one_is_a_recount(
    desk: Any, basin: None, session: Session
) -> None:
    head = "population,collected on,ripening year,amount,notes\n"
    desk.bring("lots", head + "P-1,2026-10-01,2026,100,\nP-1,2026-10-02,2026,50,\n")
    desk.bring("lots", head + "P-1,2026-10-01,2026,80,\nP-1,2026-10-02,2026,50,weighed\n")

    rows = session.scalars(select(Movement).order_by(Movement.id))
    assert [(row.lot_id, row.kind.value, row.change) for row in rows] == [
        (1, "opening", 100_000), (2, "opening", 50_000), (1, "recounted", -20_000),
    ]  # fmt: skip
    assert wrong_balances(session) == []


def test_the_number_of_statements_does_not_grow_with_the_rows(
    desk: Any, session: Session, statements: list[str]
) -> None:
    def rows(start: int, stop: int, height: int) -> str:
        lines = (f"N-{n:04d};Name {n};Quercus ilex;38,3;-8,3;{height};\n" for n in range(start, stop))
        return HEAD + "".join(lines)

    def sent(content: str) -> int:
        before = len(statements)
        desk.bring("populations", content)
        return len(statements) - before

    desk.bring("populations", rows(0, 2, 5))
    new = sent(rows(100, 110, 5)), sent(rows(1000, 2000, 5))
    changed = sent(rows(100, 110, 6)), sent(rows(1000, 2000, 6))

    assert new[0] == new[1]
    assert changed[0] == changed[1]


def test_fifty_thousand_rows_are_met_with_grace(session: Session, today: dt.date, statements: list[str]) -> None:
    rows = "".join(f"N-{n:05d};Name {n};Quercus ilex;38,3;-8,3;{n % 900};\n" for n in range(50_000))

    upload = importing.keep_upload(
        session, ACTOR, kind="populations", file_name="a.csv", content=(HEAD + rows).encode("utf-16")
    )

    outcome = importing.confirm(session, ACTOR, upload_id=upload.id, today=today)

    assert (outcome.new, outcome.changed, outcome.unchanged) == (50_000, 0, 0)
    assert (count(session, Population), count(session, Change)) == (50_000, 50_002)
    assert len(statements) < 40


def test_every_one_of_many_bad_rows_is_told(desk: Any) -> None:
    rows = "".join(f"N-{n:05d};Name {n};Nosuch plant{n};38,3;-8,3;1;\n" for n in range(3_000))

    found = desk.look("populations", HEAD + rows)

    assert (found.refused, len(found.findings)) == (3_000, 3_000)
    assert found.findings[-1].reason == "“Nosuch plant2999” is no species of the catalogue."
