"""Treatments: moments from day and hour, re-entry told until it is over, sums, export, a year for printing."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Scouting, Treatment
from nursery.models.health import Finding


def typed(**values: Any) -> dict[str, Any]:
    return {
        "product": "Sulphur 80", "registration_number": "R-0001", "active_substance": "sulphur",
        "against": "mildew",
        "dose": "2,5", "dose_unit": "g per l", "area_m2": "12", "water_l": "10", "batch_id": "", "bench_id": "",
        "nursery_id": "", "treated_on": "2026-11-24", "treated_time": "07:30", "reentry_hours": "24",
        "applied_by": "Rui", "certificate": "C-7", "notes": "", **values,
    }  # fmt: skip


@pytest.fixture
def bench(session: Session, maker: Any) -> Any:
    bench = maker.bench(name="North 2", area_m2=14.5)
    session.commit()
    return bench


def local(day: int, hour: int, minute: int = 0) -> dt.datetime:
    return dt.datetime(2026, 11, day, hour, minute).astimezone()


def test_day_and_hour_make_the_moment_and_the_hours_its_end(client: Any, session: Session, bench: Any) -> None:
    answer = client.submit("/treatments/new", typed(bench_id=str(bench.id)))

    row = session.scalars(select(Treatment)).one()
    assert answer.status_code == 303
    assert (row.treated_at, row.reentry_at) == (local(24, 7, 30), local(25, 7, 30))
    assert (row.dose, row.dose_unit, row.bench_id, row.applied_by) == (2.5, "g per l", bench.id, "Rui")
    page = client.get(f"/treatments/{row.id}").text
    assert "24 Nov 2026, 07:30" in page
    assert "0.025 kg" in page  # 2.5 g per l in 10 l
    edit = client.get(f"/treatments/{row.id}/edit").text
    assert 'value="07:30"' in edit
    assert 'name="reentry_hours" type="text" value="24"' in edit


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({}, "Say where: name a batch, a bench or a nursery."),
        ({"product": " ", "nursery_id": "1"}, "Product must be filled in."),
        ({"dose": "0", "nursery_id": "1"}, "0 is out of range. Give a number above 0"),
        ({"dose": "much", "nursery_id": "1"}, "“much”"),
        ({"dose_unit": "", "nursery_id": "1"}, "Unit of the dose must be filled in."),
        ({"treated_time": "25:00", "nursery_id": "1"}, "“25:00” is no time of day. Write it like 07:30."),
        ({"treated_time": "", "nursery_id": "1"}, "Time of day must be filled in."),
        (
            {"treated_on": "2026-11-26", "nursery_id": "1"},
            "is still to come. Write a treatment down when it is done.",
        ),
        ({"treated_on": "1999-11-26", "nursery_id": "1"}, "is too long ago. Correct the day."),
        ({"reentry_hours": "-1", "nursery_id": "1"}, "-1 is out of range"),
        ({"area_m2": "0", "nursery_id": "1"}, "0 is out of range"),
    ],
)
def test_what_cannot_be_is_refused_and_typed_words_stay(
    client: Any, session: Session, bench: Any, values: dict[str, str], message: str
) -> None:
    answer = client.submit("/treatments/new", typed(**values))

    assert answer.status_code == 422
    assert message in answer.text
    assert 'value="R-0001"' in answer.text
    assert session.scalars(select(Treatment)).all() == []


@pytest.mark.parametrize(("hours", "told"), [("720", True), ("0", False), ("", False)])
def test_a_re_entry_time_is_told_while_it_runs(
    client: Any, session: Session, bench: Any, hours: str, told: bool
) -> None:
    client.submit("/treatments/new", typed(bench_id=str(bench.id), reentry_hours=hours))
    row = session.scalars(select(Treatment)).one()

    assert ("Do not go in." in client.get(f"/treatments/{row.id}").text) is told
    assert (
        "Bench North 2 was treated with Sulphur 80: nobody goes in before" in client.get("/health").text
    ) is told


def test_a_change_is_versioned_and_its_history_tells_moments(client: Any, session: Session, bench: Any) -> None:
    client.submit("/treatments/new", typed(bench_id=str(bench.id)))
    row = session.scalars(select(Treatment)).one()
    at = f"/treatments/{row.id}"

    client.submit(f"{at}/edit", typed(bench_id=str(bench.id), treated_time="9.15", version="1"))
    stale = client.submit(f"{at}/edit", typed(bench_id=str(bench.id), product="Other", version="1"))

    assert stale.status_code == 409
    page = client.get(at).text
    assert "Used at: 24 Nov 2026, 07:30 → 24 Nov 2026, 09:15" in page


def test_another_use_begins_with_what_the_last_had(client: Any, session: Session, bench: Any) -> None:
    client.submit("/treatments/new", typed(bench_id=str(bench.id)))
    row = session.scalars(select(Treatment)).one()

    page = client.get(f"/treatments/new?like={row.id}&bench={bench.id}").text

    for value in ("Sulphur 80", "R-0001", "2.5", "g per l", "C-7", "24", "14.5"):
        assert f'value="{value}"' in page, value
    assert client.get("/treatments/new?like=999&scouting=x&bench=0").status_code == 200
    assert client.get(f"/treatments/new?like={10**20}&scouting={10**20}").status_code == 200


def test_a_treatment_that_follows_a_note_leads_back_to_it(client: Any, session: Session, bench: Any) -> None:
    note = Scouting(
        seen_on=dt.date(2026, 11, 24),
        finding=Finding.DISEASE,
        description="Mildew",
        bench_id=bench.id,
        person="Rui",
    )
    session.add(note)
    session.commit()
    form = f"/treatments/new?scouting={note.id}"
    assert f'<option value="{bench.id}" selected>' in client.get(form).text

    answer = client.submit(form, typed(bench_id=str(bench.id)), follow_redirects=True)

    assert f'href="/scoutings/{note.id}"' in answer.text


def test_sums_run_by_product_and_month_on_page_and_in_the_table(client: Any, session: Session, bench: Any) -> None:
    where = {"bench_id": str(bench.id)}
    client.submit("/treatments/new", typed(**where))
    client.submit("/treatments/new", typed(**where, product="sulphur 80", treated_on="2026-11-10", water_l="30"))
    client.submit("/treatments/new", typed(**where, treated_on="2026-10-31", dose="1", dose_unit="a spoon"))
    client.submit("/treatments/new", typed(**where, treated_on="2025-10-31"))

    rows = client.get("/treatments/sums.csv?year=2026").get_data(as_text=True).splitlines()
    page = client.get("/treatments/year").text.split("<table", 1)[1]

    assert rows[0].startswith("Month,Product,Registration number,Active substance,Uses,Area (m²),Water (l)")
    assert [row.split(",")[0] for row in rows[1:]] == ["2026-10-01", "2026-11-01"]
    assert [float(cell or 0) for cell in rows[1].split(",")[4:]] == [1, 12, 10, 0, 0, 1]
    assert [float(cell or 0) for cell in rows[2].split(",")[4:]] == [2, 24, 40, 0, 0.1, 0]
    assert "24 Nov 2026, 07:30" in page
    assert "31 Oct 2025" not in page
    assert "31 Oct 2025" in client.get("/treatments/year?year=2025").text
    assert client.get("/treatments/year?year=99999999").status_code == 200
    assert client.get("/treatments/sums.xlsx?year=2026").data.startswith(b"PK")


def test_the_log_names_the_species_that_stood_there_on_the_day(
    client: Any, session: Session, maker: Any, bench: Any
) -> None:
    cork, willow = maker.species("quercus-suber"), maker.species("salix-alba")
    for species in (cork, willow):
        batch = maker.batch(bench=bench, lot=maker.lot(population=maker.population(species=species)))
    batch.placements[0].until_on = dt.date(2026, 11, 20)
    session.commit()
    client.submit("/treatments/new", typed(bench_id=str(bench.id)))

    page = client.get("/treatments/year").text

    assert '<i class="taxon">Quercus suber</i>' in page
    assert "Salix alba" not in page


def test_the_log_is_exported_with_the_hour(client: Any, session: Session, bench: Any) -> None:
    client.submit("/treatments/new", typed(bench_id=str(bench.id), product="=cmd()"))

    table = client.get("/treatments.csv").get_data(as_text=True).splitlines()

    assert table[1] == (
        "2026-11-24 07:30,'=cmd(),R-0001,sulphur,2.5,g per l,,North 2,,12.0,10.0,mildew,2026-11-25 07:30,Rui,C-7,"
    )


def test_a_long_log_turns_its_pages_by_moment(client: Any, session: Session, bench: Any) -> None:
    start = local(1, 6)
    session.add_all(
        Treatment(
            treated_at=start + dt.timedelta(minutes=7 * number), product=f"Product {number:03d}", dose=1.0,
            dose_unit="g per l", bench_id=bench.id, applied_by="Rui",
        )
        for number in range(120)
    )  # fmt: skip
    session.commit()

    page, seen, address = client.get("/treatments").text, [], ""
    for _turn in range(3):
        seen += [f"{number:03d}" for number in range(120) if f"Product {number:03d}" in page.split("<tbody>")[1]]
        if 'rel="next"' not in page:
            break
        address = page.split('rel="next" href="')[1].split('"')[0].replace("&amp;", "&")
        page = client.get(address).text

    assert sorted(seen) == [f"{number:03d}" for number in range(120)]
    assert client.get("/treatments?after=eyJ4IjoxfQ&sort=used_at").status_code == 200
