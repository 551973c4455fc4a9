"""Seed tests on the page of a lot: typed as in the lab book, judged at once, withdrawn with a reason."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Lot, SeedTest
from nursery.models.lots import Material
from nursery.services.lots import change_lot

GERMINATION = {
    "counts": "91 95, 88; 90",
    "seeds": "100",
    "tested_on": "2026-11-20",
    "days": "28",
    "regime": "20/10 °C",
    "pretreatment": "Soaked for a day",
}

NO_COUNT = (
    "“%s” is no count. Type one whole number for each replicate,"
    " parted by blanks or semicolons, such as 91 95 88 90."
)


@pytest.fixture
def lot(session: Session, maker: Any) -> Lot:
    made: Lot = maker.lot(
        population=maker.population(species=maker.species("arbutus-unedo")), collected_on=dt.date(2026, 6, 1),
        storage_place_id=maker.place().id,
    )  # fmt: skip
    session.commit()
    return made


def stored(session: Session) -> SeedTest:
    session.expire_all()  # to see what the pages have committed
    return session.scalars(select(SeedTest)).one()


def refused(client: Any, session: Session, kind: str, typed: dict[str, str]) -> dict[str, str]:
    answer = client.submit(f"/lots/1/tests/new/{kind}", {"tested_on": "2026-11-20", **typed})
    assert answer.status_code == 422
    session.expire_all()
    assert session.scalars(select(SeedTest)).all() == []
    return dict(re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', answer.text, re.DOTALL))


def test_a_germination_test_is_written_down_and_rules_the_lot(client: Any, session: Session, lot: Lot) -> None:
    answer = client.submit(f"/lots/{lot.id}/tests/new/germination", {**GERMINATION, "taken": "1,5"})

    test = stored(session)
    assert (answer.status_code, answer.location) == (303, f"/lots/{lot.id}#tests")
    assert test.readings == {"counts": [91, 95, 88, 90], "seeds": 100}
    assert (test.days, test.regime, test.pretreatment) == (28, "20/10 °C", "Soaked for a day")
    page = client.get(f"/lots/{lot.id}").text
    assert "Replicates differ by 7 points; up to 11 are allowed." in page
    assert "7 CFR § 201.55(a)" in page
    assert "Rules the lot" in page
    assert "Germination of 20 Nov 2026" in page
    assert session.get_one(Lot, lot.id).amount_mg == 498_500


def test_counts_parted_by_commas_before_blanks_are_plain(client: Any, session: Session, lot: Lot) -> None:
    client.submit(f"/lots/{lot.id}/tests/new/germination", {**GERMINATION, "counts": "91, 95, 88, 90"})

    assert stored(session).readings == {"counts": [91, 95, 88, 90], "seeds": 100}


def test_a_refused_test_asks_for_a_repeat_and_changes_nothing(client: Any, session: Session, lot: Lot) -> None:
    answer = client.submit(
        f"/lots/{lot.id}/tests/new/germination", {**GERMINATION, "counts": "92 71 88 64"}, follow_redirects=True
    )

    assert answer.text.count("Refused: replicates differ by 28 points, and only 16 are allowed.") == 2
    assert "Refused, repeat it" in answer.text
    assert (stored(session).is_accepted, session.get_one(Lot, lot.id).germination) == (False, None)


def test_eight_weights_with_decimal_commas(client: Any, session: Session, lot: Lot) -> None:
    # AOSA Rules, Appendix 4 tutorial, FRSA 2001: 8 × 100 seeds of Dimorphotheca sinuata, g.
    typed = "0,2224 0,2134 0,2130 0.2116; 0.2145, 0.2071 0,2116 0,2125"
    client.set_cookie("language", "pt")
    client.submit(f"/lots/{lot.id}/tests/new/weight", {**GERMINATION, "weights_g": typed, "chaffy": "y"})

    test = stored(session)
    assert test.result == pytest.approx(2.132625)
    assert test.readings["chaffy"] is True


def test_purity_and_moisture_are_reckoned_from_weights(client: Any, session: Session, lot: Lot) -> None:
    day = {"tested_on": "2026-11-20"}
    client.submit(f"/lots/{lot.id}/tests/new/purity", {**day, "pure_g": "9,4", "other_g": "0,1", "inert_g": "0,5"})
    client.submit(f"/lots/{lot.id}/tests/new/moisture", {**day, "empty_1": "20", "fresh_1": "30", "dry_1": "29.1"})
    session.expire_all()

    found = session.get_one(Lot, lot.id)
    assert [found.purity, found.moisture_pct] == pytest.approx([0.94, 9.0])
    assert found.germination is None


@pytest.mark.parametrize(
    ("kind", "typed", "message"),
    [
        (
            "germination",
            {"counts": "", "seeds": "100"},
            {"counts": "Seeds germinated in each replicate must be filled in."},
        ),
        (
            "germination",
            {"counts": "91", "seeds": "100"},
            {"counts": "Count two replicates or more, so that they can be compared; four of 100 seeds are usual."},
        ),
        (
            "germination",
            {"counts": "91 101", "seeds": "100"},
            {"counts": "No replicate has more than its 100 seeds. Correct the count or the seeds."},
        ),
        ("germination", {"counts": "91,5 88", "seeds": "100"}, {"counts": NO_COUNT % "91,5"}),
        ("germination", {"counts": "91,95,88,90", "seeds": "100"}, {"counts": NO_COUNT % "91,95,88,90"}),
        ("cut", {"counts": "4.5", "seeds": "10"}, {"counts": NO_COUNT % "4.5"}),
        ("cut", {"counts": "few", "seeds": "10"}, {"counts": NO_COUNT % "few"}),
        (
            "cut",
            {"counts": "4", "seeds": "10", "taken": "501"},
            {"taken": "L/3 holds 500 g; 501 g cannot leave it. Give less, or recount the lot first."},
        ),
        (
            "cut",
            {"counts": "4", "seeds": "10", "taken": "-1"},
            {"taken": "-1 is out of range. Give a number from 0 to 1,000,000."},
        ),
        (
            "weight",
            {"weights_g": "1 1 1", "seeds": "100"},
            {"weights_g": "3 weights were given. Weigh eight replicates, or sixteen where eight were refused."},
        ),
        (
            "moisture",
            {"empty_1": "5", "fresh_1": "9", "dry_1": "8", "empty_2": "5"},
            {
                "fresh_2": "Give all three weights of the second sample, or none.",
                "dry_2": "Give all three weights of the second sample, or none.",
            },
        ),
        (
            "purity",
            {"pure_g": "1", "other_g": "0", "inert_g": "0", "tested_on": "2026-05-01"},
            {"tested_on": "The test would be before the collection on 1 Jun 2026. Correct one of the dates."},
        ),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    client: Any, session: Session, lot: Lot, kind: str, typed: dict[str, str], message: dict[str, str]
) -> None:
    assert refused(client, session, kind, typed) == message


def test_a_test_is_withdrawn_with_a_reason_and_stays_on_the_page(client: Any, session: Session, lot: Lot) -> None:
    client.submit(f"/lots/{lot.id}/tests/new/germination", GERMINATION)
    at, page = f"/lots/{lot.id}/tests/1/withdraw", f"/lots/{lot.id}"

    without = client.submit(at, page=page, follow_redirects=True)
    assert "Write down what was wrong with the test." in without.text
    answer = client.submit(at, {"reason": "Dishes mixed up"}, page=page, follow_redirects=True)

    assert "Withdrawn by Ana Seabra on" in answer.text
    assert "Dishes mixed up" in answer.text
    session.expire_all()
    assert session.get_one(Lot, lot.id).germination is None


def test_a_figure_typed_over_a_test_is_pointed_out(client: Any, session: Session, lot: Lot) -> None:
    client.submit(f"/lots/{lot.id}/tests/new/germination", GERMINATION)
    session.expire_all()
    session.get_one(Lot, lot.id).germination = 0.7
    session.commit()

    assert "Typed over a test: Germination." in client.get(f"/lots/{lot.id}").text


def test_figures_that_a_test_rules_are_shown_and_not_typed_over(
    client: Any, session: Session, lot: Lot, today: dt.date
) -> None:
    client.submit(f"/lots/{lot.id}/tests/new/germination", GERMINATION)
    session.expire_all()
    before = session.get_one(Lot, lot.id).germination

    page = client.get(f"/lots/{lot.id}/edit").text
    inputs = {name: tag for tag, name in re.findall(r'(<input[^>]*\bname="(\w+)"[^>]*>)', page)}
    assert {name for name, tag in inputs.items() if "readonly" in tag} == {"germination", "tested_on"}
    told = f'Ruled by the test of 20 Nov 2026. <a href="/lots/{lot.id}#tests">See the tests</a>'
    assert page.count(told) == 2
    typed = {"population_id": lot.population.code, "code": lot.code, "germination": "10 %", "purity": "90 %",
             "version": str(lot.version), "material": "seed"}  # fmt: skip
    answer = client.submit(f"/lots/{lot.id}/edit", typed | {"collected_on": "2026-06-01"})
    session.rollback()  # to see what the page has committed
    assert (answer.status_code, lot.germination, lot.purity) == (303, before, 0.9)

    with pytest.raises(Invalid) as refused:
        change_lot(
            session, "Rui", row=lot, today=today,
            values={"population_id": lot.population_id, "collected_on": lot.collected_on, "germination": 0.1},
        )  # fmt: skip
    assert refused.value.errors == {
        "germination": "The test of 20 Nov 2026 rules this figure. Record a newer test, or withdraw that one if it"
        " was wrong."
    }


def test_cuttings_have_no_tests(client: Any, session: Session, maker: Any) -> None:
    cuttings = maker.lot(pieces=20, material=Material.CUTTINGS)
    session.commit()

    assert client.get(f"/lots/{cuttings.id}/tests/new/cut").location == f"/lots/{cuttings.id}"
    page = client.get(f"/lots/{cuttings.id}").text
    assert "Record a test:" not in page


def test_another_lots_test_is_not_found(client: Any, session: Session, maker: Any, lot: Lot) -> None:
    client.submit(f"/lots/{lot.id}/tests/new/germination", GERMINATION)
    other = maker.lot()
    session.commit()

    answer = client.submit(f"/lots/{other.id}/tests/1/withdraw", {"reason": "x"}, page=f"/lots/{lot.id}")

    assert answer.status_code == 404


def test_the_curve_is_sent_once_and_again_after_a_new_test(client: Any, session: Session, lot: Lot) -> None:
    address = f"/lots/{lot.id}/keeping.svg"
    first = client.get(address)
    assert (first.status_code, first.mimetype) == (200, "image/svg+xml")
    assert b"test-0" not in first.data

    mark = {"If-None-Match": first.headers["ETag"]}
    assert client.get(address, headers=mark).status_code == 304
    client.submit(f"/lots/{lot.id}/tests/new/germination", GERMINATION)

    again = client.get(address, headers=mark)
    assert again.status_code == 200
    assert b"test-0" in again.data


def test_the_picture_the_words_and_the_table_tell_the_same(client: Any, session: Session, lot: Lot) -> None:
    client.submit(f"/lots/{lot.id}/tests/new/germination", GERMINATION)

    page = client.get(f"/lots/{lot.id}").text

    alt = re.search(r'alt="Curve of viability: 91 % on 20 Nov 2026, ([\d.]+ %) today, 45\.5 % on ([^.]+)\.', page)
    assert alt
    table = page[page.index('id="keeping-table"') :]
    rows = re.findall(r"<th scope=\"row\">(.*?)</th><td>(.*?)</td><td class=\"num\">([\d.]+ %)", table)
    assert ("20 Nov 2026", "Germination", "91 %") in rows
    assert ("25 Nov 2026", "Today", alt[1]) in rows
    assert (alt[2], "Past its best", "45.5 %") in rows


def test_an_acorn_in_the_freezer_is_warned_of(client: Any, session: Session, maker: Any) -> None:
    acorns = maker.lot(storage_place_id=maker.place(temperature_c=-18.0).id)
    session.commit()

    page = client.get(f"/lots/{acorns.id}").text

    assert "It freezes here." in page
    assert "The place is at -18 °C, and this seed dies when it freezes." in page
    assert "Left out of plans because seed of this class dies when it freezes" in page
    assert "It cannot wait for another season: sow by" not in page


def test_a_lot_of_a_plant_the_catalogue_does_not_know_has_no_forecast(
    client: Any, session: Session, maker: Any
) -> None:
    unknown = maker.lot(population=maker.population(species=maker.species("planta-ignota")))
    session.commit()

    assert client.get(f"/lots/{unknown.id}/keeping.svg").status_code == 404
    assert "How long it keeps" not in client.get(f"/lots/{unknown.id}").text


@pytest.mark.parametrize(
    ("values", "place", "missing"),
    [
        ({"moisture_pct": 8.0}, {"temperature_c": 4.0}, ""),
        ({}, {"temperature_c": None}, "; the moisture of the lot; the temperature of its place"),
        ({}, None, "; the moisture of the lot; the place where it is kept"),
    ],
)  # fmt: skip
def test_the_forecast_says_what_the_equation_lacks(
    client: Any, session: Session, maker: Any, values: dict[str, float], place: dict[str, Any] | None, missing: str
) -> None:
    stand = maker.population(species=maker.species("arbutus-unedo"))
    kept = None if place is None else maker.place(**place).id
    row = maker.lot(population=stand, storage_place_id=kept, **values)
    session.commit()

    page = client.get(f"/lots/{row.id}").text

    told = (
        "The viability equation cannot be used, because this is not known: the constants KE and CW of the species"
    )
    assert f"{told}{missing}." in page
