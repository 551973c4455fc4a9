"""What was seen in the field and the bags, on the pages of a lot."""

from __future__ import annotations

import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Bag, Lot


@pytest.fixture
def lot(session: Session, maker: Any) -> Any:
    row = maker.lot(mother_plants=30)
    session.commit()
    return row


def text_of(html: str) -> str:
    return re.sub(r"\s*%", " %", " ".join(re.sub(r"<[^>]+>", " ", html).split()))


def kept(session: Session) -> list[tuple[str, int]]:
    session.rollback()
    return [(bag.tag, bag.weight_mg) for bag in session.scalars(select(Bag).order_by(Bag.id))]


def typed(lot: Lot, *rows: tuple[str, str], **more: Any) -> dict[str, Any]:
    blank = [""] * len(rows)
    return {
        "version": lot.version, "unit": "g", "tag": [tag for tag, _ in rows], "weight": [w for _, w in rows],
        "latitude": blank, "longitude": blank, **more,
    }  # fmt: skip


def test_field_facts_are_typed_as_people_type_them(client: Any, session: Session, lot: Any) -> None:
    answer = client.submit(
        f"/lots/{lot.id}/field",
        {"version": lot.version, "plants_present": "80", "mother_plants": "40", "crop_share": "25",
         "cut_total": "50", "cut_sound": "45", "ripeness": "ripe", "habitat": "Gravel bank"},
        follow_redirects=True,
    )  # fmt: skip

    shown = text_of(answer.text)
    assert "40 of 80 plants" in shown
    assert "45 of 50 sound, 90 % true share between 79 % and 96 %" in shown
    assert "25 % of the ripe seed was taken; more than 20 % leaves the stand too little." in shown
    assert "Share of the ripe seed taken : nothing → 25 %" in re.sub(r"\s*:", " :", shown)
    assert "nothing → Ripe" in shown
    session.expire_all()
    row = session.get(Lot, lot.id)
    assert row is not None
    assert (row.crop_share, row.habitat) == (0.25, "Gravel bank")


def test_a_wrong_number_of_plants_comes_back_as_typed(client: Any, lot: Any) -> None:
    answer = client.submit(
        f"/lots/{lot.id}/field",
        {"version": lot.version, "plants_present": "8", "mother_plants": "9", "habitat": "Bank"},
    )

    assert answer.status_code == 422
    assert "9 plants were sampled of only 8 present." in answer.text
    assert 'value="9"' in answer.text


def test_somebody_elses_change_is_shown_beside_the_own(client: Any, lot: Any) -> None:
    answer = client.submit(f"/lots/{lot.id}/field", {"version": lot.version + 1, "habitat": "Bank"})

    assert answer.status_code == 409
    assert "Nothing was overwritten" in answer.text


def test_bags_are_typed_row_by_row(client: Any, session: Session, lot: Any) -> None:
    rows = [("T1", "580"), *((f"T{number}", "30") for number in range(2, 31)), ("", "")]

    answer = client.submit(f"/lots/{lot.id}/bags", typed(lot, *rows), follow_redirects=True)

    assert kept(session)[:2] == [("T1", 580_000), ("T2", 30_000)]
    shown = text_of(answer.text)
    assert "30 mother plants, worth 5.8 in equal shares: below 15, too few." in shown
    assert "Bag T1 alone is 40" in shown
    assert "TemaNord 2025:515" in shown


def test_a_pasted_table_becomes_rows_to_look_at_before_saving(client: Any, session: Session, lot: Any) -> None:
    pasted = "Weight (kg)\tTag\tLat\tLon\n0,25\tA1\t40,101\t-7,502\n0,5\tA2\t\t\n"
    answer = client.submit(f"/lots/{lot.id}/bags", {**typed(lot, ("T1", "1")), "unit": "kg", "paste": pasted})

    assert answer.status_code == 200
    assert kept(session) == []
    tags = re.findall(r'name="tag" value="([^"]+)"', answer.text)
    weights = re.findall(r'name="weight" value="([^"]+)"', answer.text)
    assert (tags, weights) == (["T1", "A1", "A2"], ["1", "0,25", "0,5"])


@pytest.mark.parametrize(
    "pasted",
    [
        "A1;250\nA2;500,5",
        "A1\t250\nA2\t500.5",
        "A1 250\nA2 500.5",
        "A1 250\nA2 500,5",
        "Bag,Weight\nA1,250\nA2,500.5",
        "Etiqueta;Peso (g)\nA1;250\nA2;500,5",
    ],
)
def test_tables_of_any_make_are_understood(client: Any, lot: Any, pasted: str) -> None:
    answer = client.submit(f"/lots/{lot.id}/bags", typed(lot, paste=pasted))

    assert re.findall(r'name="tag" value="([^"]+)"', answer.text) == ["A1", "A2"]
    assert [text.replace(",", ".") for text in re.findall(r'name="weight" value="([^"]+)"', answer.text)] == [
        "250", "500.5",
    ]  # fmt: skip


def in_form(html: str) -> tuple[list[str], list[str]]:
    """The weights in the rows, and the unit that is chosen."""
    chosen = re.findall(r'<option value="(k?g)" selected>', html)
    return re.findall(r'name="weight" value="([^"]+)"', html), chosen


@pytest.mark.parametrize("heading", ["Weight (kg)", "weight [kg]", "kg", "Peso em kg", "Kilograms"])
def test_the_unit_of_the_heading_is_heeded(client: Any, session: Session, lot: Any, heading: str) -> None:
    answer = client.submit(f"/lots/{lot.id}/bags", typed(lot, paste=f"Tag\t{heading}\nA1\t0,25\nA2\t1,5"))

    assert in_form(answer.text) == (["0,25", "1,5"], ["kg"])
    rows = {**typed(lot, ("A1", "0,25"), ("A2", "1,5")), "unit": "kg"}
    client.submit(f"/lots/{lot.id}/bags", rows)
    assert kept(session) == [("A1", 250_000), ("A2", 1_500_000)]


def test_a_weight_may_say_its_unit_itself(client: Any, session: Session, lot: Any) -> None:
    pasted = typed(lot, paste="Tag\tWeight\nA1\t1,2 kg\nA2\t800 g\nA3\t0.5KG")
    assert in_form(client.submit(f"/lots/{lot.id}/bags", pasted).text) == (["1,2 kg", "800 g", "0.5KG"], ["g"])

    client.submit(
        f"/lots/{lot.id}/bags", typed(lot, ("A1", "1,2 kg"), ("A2", "800 g"), ("A3", "0.5KG"), ("A4", "90"))
    )

    assert kept(session) == [("A1", 1_200_000), ("A2", 800_000), ("A3", 500_000), ("A4", 90_000)]


def test_pasted_weights_take_the_unit_of_the_rows_that_stand_there(client: Any, lot: Any) -> None:
    answer = client.submit(f"/lots/{lot.id}/bags", typed(lot, ("T1", "80"), paste="Tag\tkg\nA1\t0,25\nA2\t1.5"))

    assert in_form(answer.text) == (["80", "250", "1500"], ["g"])


@pytest.mark.parametrize(
    ("pasted", "message"),
    [
        (
            "Tag\tWeight (lb)\nA1\t2",
            "The heading “Weight (lb)” is in a unit that bags of seed are not weighed in. Give grams or",
        ),
        ("Tag\tkg\nA1\t0,25\nA2\tmuch", "Row 2: “much” is not a number. Write digits, such as 1250 or 0.5."),
    ],
)
def test_a_unit_that_cannot_be_heeded_is_refused_by_name(client: Any, lot: Any, pasted: str, message: str) -> None:
    answer = client.submit(f"/lots/{lot.id}/bags", typed(lot, ("T1", "80"), paste=pasted))

    assert (answer.status_code, message in answer.text) == (422, True)
    assert in_form(answer.text) == (["80"], ["g"])


def test_weights_of_cuttings_are_refused(client: Any, session: Session, maker: Any) -> None:
    row = maker.lot(pieces=40, material="cuttings")
    session.commit()

    answer = client.submit(f"/lots/{row.id}/bags", typed(row, paste="Tag\tWeight (g)\nA1\t20"))

    assert answer.status_code == 422
    message = "The heading “Weight (g)” gives weights, but cuttings are counted. Give the number of each bag."
    assert message in answer.text


def test_what_is_wrong_in_a_row_stands_in_it(client: Any, session: Session, lot: Any) -> None:
    answer = client.submit(f"/lots/{lot.id}/bags", typed(lot, ("T1", "much"), ("", "5"), ("T3", "")))

    assert answer.status_code == 422
    wrong = re.findall(r'id="(\w+-\d)-error">(.*?)<', answer.text)
    assert [place for place, _text in wrong] == ["weight-1", "tag-2", "weight-3"]
    assert kept(session) == []


def test_the_same_tag_twice_is_refused(client: Any, session: Session, lot: Any) -> None:
    answer = client.submit(f"/lots/{lot.id}/bags", typed(lot, ("T1", "5"), ("t1", "5")))

    assert (answer.status_code, kept(session)) == (422, [])
    assert "Row 2: The tag “t1” is there twice." in answer.text


def test_an_older_version_does_not_overwrite(client: Any, session: Session, lot: Any) -> None:
    data = {**typed(lot, ("T1", "5")), "version": lot.version + 1}

    assert client.submit(f"/lots/{lot.id}/bags", data).status_code == 409
    assert kept(session) == []


def test_emptied_rows_mean_a_pooled_bag(client: Any, session: Session, lot: Any) -> None:
    client.submit(f"/lots/{lot.id}/bags", typed(lot, ("T1", "5")))
    session.expire_all()
    row = session.get(Lot, lot.id)
    assert row is not None

    answer = client.submit(f"/lots/{lot.id}/bags", typed(row), follow_redirects=True)

    assert kept(session) == []
    assert (
        "Pooled bag: the balance is unknown; at most as many effective mothers as plants sampled, 30."
        in answer.text
    )


def test_cuttings_are_counted_and_have_a_sex_where_plants_have(client: Any, session: Session, maker: Any) -> None:
    willow = maker.population(species=maker.species("salix-salviifolia"))
    row = maker.lot(population=willow, pieces=40, material="cuttings")
    session.commit()
    data = {**typed(row, ("W1", "20"), ("W2", "20")), "sex": ["male", "female"]}

    answer = client.submit(f"/lots/{row.id}/bags", data, follow_redirects=True)

    assert kept(session) == [("W1", 20_000), ("W2", 20_000)]
    assert "Male" in answer.text
    assert (
        "Pieces are whole"
        in client.submit(f"/lots/{row.id}/bags", {**typed(row, ("W1", "2,5")), "sex": [""]}).text
    )
