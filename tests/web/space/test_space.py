"""The pages of bench room, spacing and water."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Bench, StageRoom, Target
from nursery.planning.growing.words import Stage
from tests.conftest import Maker

TODAY = dt.date(2026, 11, 25)


def a_full_bench(maker: Maker) -> int:
    """Ten trays of 0.2 m² on a bench of 1.5 m²; the number of the nursery."""
    nursery = maker.nursery(name="Moinho yard", bench_area_m2=30.0)
    deep = maker.container(nursery=nursery, tray_length_mm=500.0, tray_width_mm=400.0)
    bench = maker.bench(nursery=nursery, name="East", area_m2=1.5)
    maker.batch(bench=bench, container_id=deep.id, nursery_id=nursery.id, code="B-7", sown_on=TODAY)
    maker.session.commit()
    return int(nursery.id)


def plain(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_without_a_nursery_the_page_says_what_to_do_first(client: Any) -> None:
    assert "No nursery yet" in client.get("/space").text


def test_a_bench_too_full_is_told_in_words_and_its_week_lists_what_stands_there(
    client: Any, session: Session, maker: Maker
) -> None:
    number = a_full_bench(maker)
    page = client.get("/space").text
    told = plain(page)
    assert "too little room in 53 weeks" in told
    assert "most in week" in told
    assert "2 (0.5 too little)" in told
    assert f'href="/space/{number}/2026-W48"' in page
    week = plain(client.get(f"/space/{number}/2026-W48").text)
    assert "Bench East: 2 m² taken, 0.5 m² too little." in week
    assert "B-7 Quercus suber 2 10 East" in week


def test_weeks_go_to_a_spreadsheet_with_their_sums(client: Any, session: Session, maker: Maker) -> None:
    a_full_bench(maker)
    rows = list(csv.DictReader(io.StringIO(client.get("/space.csv").get_data().decode("utf-8-sig"))))
    assert len(rows) == 2 * 53
    first, bench = rows[0], rows[53]
    assert [first["Bench"], first["Taken (m²)"], first["Area (m²)"]] == ["", "2.0", "30.0"]
    assert [bench["Bench"], bench["Taken (m²)"], bench["Too little (m²)"]] == ["East", "2.0", "0.5"]


def test_weeks_that_are_none_and_nurseries_that_are_not_are_not_found(client: Any, maker: Maker) -> None:
    number = a_full_bench(maker)
    assert [
        client.get(path).status_code
        for path in (f"/space/{number}/2027-W99", f"/space/{number}/x", "/space/99/2027-W10")
    ] == [404, 404, 404]


def test_later_years_can_be_seen_and_the_past_cannot(client: Any, maker: Maker) -> None:
    a_full_bench(maker)
    assert "from 22 Nov 2027 to" in plain(client.get("/space?from=2027-W47").text)
    assert "from 23 Nov 2026 to" in plain(client.get("/space?from=2020-W47").text)


def test_spacing_and_water_are_set_and_given_back(client: Any, session: Session) -> None:
    answer = client.submit("/space/rooms", {"spacing_growing": "1,5", "water_growing": "6"}, follow_redirects=True)
    assert "Spacing and water were saved." in answer.text
    row = session.scalars(select(StageRoom)).one()
    assert (row.stage, row.spacing, row.water_l_per_m2_day) == (Stage.GROWING, 1.5, 6.0)
    shown = client.get("/space/rooms").text
    assert re.findall(r'name="(\w+_growing)"[^>]*value="([^"]*)"', shown) == [
        ("spacing_growing", "1.5"),
        ("water_growing", "6"),
    ]
    assert shown.count("common practice, no source") == 5


def test_a_spacing_that_cannot_be_is_refused_at_its_field(client: Any, session: Session) -> None:
    answer = client.submit("/space/rooms", {"spacing_growing": "0.5", "water_sown": "2"})
    assert (answer.status_code, 'id="spacing_growing-error"' in answer.text) == (422, True)
    assert 'value="2"' in answer.text
    assert session.scalars(select(StageRoom)).all() == []


def test_a_bench_too_full_is_levelled_in_words_and_nothing_is_pinned(
    client: Any, session: Session, maker: Maker
) -> None:
    number = a_full_bench(maker)
    session.add(Bench(nursery_id=number, name="West", area_m2=9.0))
    session.commit()
    told = plain(client.get("/space/levelling").text)
    assert "With these moves there is room in every week." in told
    assert "Move 4 of 10 trays from East to West." in told
    assert "Advice: carry the trays and note it at the batch." in told
    assert "Take the planting days over" not in told


def test_nobody_is_sent_to_carry_trays_where_a_treatment_is_too_fresh(
    client: Any, session: Session, maker: Maker
) -> None:
    number = a_full_bench(maker)
    session.add(Bench(nursery_id=number, name="West", area_m2=9.0))
    session.commit()
    east = session.scalars(select(Bench).where(Bench.name == "East")).one()
    sentence = "Bench East was treated with Sulphur 80: nobody goes in before"
    assert sentence not in client.get("/space/levelling").text
    treated = {
        "product": "Sulphur 80", "dose": "2", "dose_unit": "g per l", "bench_id": str(east.id), "nursery_id": "",
        "treated_on": "2026-11-24", "treated_time": "07:30", "reentry_hours": "720",
    }  # fmt: skip

    client.submit("/treatments/new", treated)

    assert sentence in client.get("/space/levelling").text


def test_where_all_fits_there_is_nothing_to_do(client: Any) -> None:
    assert "Everything fits" in plain(client.get("/space/levelling").text)


def test_moves_that_changed_meanwhile_are_not_taken_over(client: Any, session: Session, maker: Maker) -> None:
    number = a_full_bench(maker)
    answer = client.submit("/space/levelling", {"mark": "seen before"}, page="/space/rooms", follow_redirects=True)
    assert "Nothing was written: look at the new moves." in plain(answer.text)
    assert session.scalars(select(Target)).all() == []
    assert number > 0
