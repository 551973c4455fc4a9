from __future__ import annotations

import datetime as dt
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.errors import Invalid
from nursery.i18n import LOCALES, locale_of
from nursery.services.understanding import parse_date, parse_fraction, parse_number


@pytest.mark.parametrize("typed", ["0.85", "0,85", "85", "85 %", "85%", " 85,0 % ", "85\u00a0%", "0.850"])
def test_the_same_germination_however_it_is_typed(typed: str) -> None:
    assert parse_fraction(typed) == pytest.approx(0.85)


@pytest.mark.parametrize(
    ("typed", "fraction"), [("1", 1), ("1 %", 0.01), ("100", 1), ("0", 0), ("0.5 %", 0.005), ("1.5", 0.015)]
)
def test_one_is_the_whole_and_above_it_are_percent(typed: str, fraction: float) -> None:
    assert parse_fraction(typed) == pytest.approx(fraction)


@pytest.mark.parametrize("typed", ["101", "-3", "120 %", "", "%", "most", "85 % %"])
def test_what_is_no_fraction_is_refused_with_the_text_and_a_remedy(typed: str) -> None:
    with pytest.raises(Invalid) as refused:
        parse_fraction(typed, "germination")

    message = refused.value.errors["germination"]
    assert typed.strip().removesuffix("%").strip() in message
    assert "Write" in message


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("1250", 1250), ("12,5", 12.5), ("12.5", 12.5), ("1 250,5", 1250.5), ("1\u202f250", 1250), ("-3", -3),
        ("−3", -3), ("1.250,5", 1250.5), ("1,250.5", 1250.5), ("1.250.000", 1_250_000), ("0,125", 0.125),
        ("1250,125", 1250.125), ("2.5E-05", 0.000025), (".5", 0.5), ("5.", 5), ("1'250", 1250), ("+4", 4),
    ],
)  # fmt: skip
def test_numbers_as_people_write_them(typed: str, number: float) -> None:
    assert parse_number(typed) == pytest.approx(number)


@pytest.mark.parametrize(("locale", "clear", "unclear"), [("en", "1.250", "1,250"), ("pt", "1,250", "1.250")])
def test_three_digits_behind_the_other_mark_can_mean_two_things(locale: str, clear: str, unclear: str) -> None:
    with locale_of(locale):
        assert parse_number(clear) == 1.25
        with pytest.raises(Invalid) as refused:
            parse_number(unclear)

    assert unclear in str(refused.value)
    assert "1.250" in str(refused.value)
    assert "1250" in str(refused.value)


@pytest.mark.parametrize(
    "typed", ["nan", "inf", "-inf", "1e999", "12 34", "1,2,3", "1.2.3", "0x10", "1_000", "ten", "--1"]
)
def test_what_is_no_number_is_refused(typed: str) -> None:
    with pytest.raises(Invalid, match="Write"):
        parse_number(typed)


@given(st.floats(-1e9, 1e9).map(lambda x: round(x, 4)))
def test_a_number_written_plainly_comes_back(number: float) -> None:
    text = f"{number:.4f}"

    assert parse_number(text) == number
    assert parse_number(text.replace(".", ",")) == number


@given(st.text(max_size=30))
def test_no_text_breaks_the_reading(text: str) -> None:
    for parse in (parse_number, parse_fraction, parse_date):
        with suppress(Invalid):
            assert parse(text) is not None


@pytest.mark.parametrize(
    "typed", ["2027-11-15", "15/11/2027", "15.11.2027", "15-11-2027", "2027-11-15 00:00:00", " 2027-11-15T00:00 "]
)
def test_days_as_people_write_them(typed: str) -> None:
    assert parse_date(typed) == dt.date(2027, 11, 15)


@pytest.mark.parametrize("locale", LOCALES)
@pytest.mark.parametrize("typed", ["5/11/2027", "05/11/2027", "5-11-2027", "05.11.2027"])
def test_the_day_comes_before_the_month_in_every_language(locale: str, typed: str) -> None:
    with locale_of(locale):
        assert parse_date(typed) == dt.date(2027, 11, 5)


@pytest.mark.parametrize(
    "typed", ["2027-02-30", "15/11/27", "31/31/2027", "tomorrow", "2027", "1899-12-31", "2201-01-01"]
)
def test_what_is_no_day_is_refused(typed: str) -> None:
    with pytest.raises(Invalid, match=r"Write (a )?year"):
        parse_date(typed)


def test_long_text_is_cut_in_the_message() -> None:
    with pytest.raises(Invalid) as refused:
        parse_number("x" * 500)

    assert len(str(refused.value)) < 120
