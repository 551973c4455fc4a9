"""Days of every year, and seasons."""

from __future__ import annotations

import datetime as dt

import pytest

from nursery.errors import Invalid
from nursery.i18n import LOCALES, locale_of
from nursery.services.importing.seasons import parse_day, parse_season
from nursery.services.seasons import season_name, season_of, season_span
from nursery.services.year_days import DAY_TEXTS, day_text


@pytest.mark.parametrize("locale", LOCALES)
def test_every_day_is_understood_as_it_is_shown(locale: str) -> None:
    with locale_of(locale):
        wrong = [day for day in DAY_TEXTS if parse_day(day_text(day)) != day]
    assert (wrong, len(DAY_TEXTS)) == ([], 365)


@pytest.mark.parametrize(("typed", "day"), [("02-28", "02-28"), ("28-02", "02-28"), ("11-11", "11-11")])
def test_a_hyphen_is_understood_where_only_one_reading_is_a_day(typed: str, day: str) -> None:
    assert parse_day(typed) == day


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("01-11", "“01-11” can be read in two ways. Write 11 Jan or 1 Nov."),
        (" 11-1 ", "“11-1” can be read in two ways. Write 1 Nov or 11 Jan."),
        ("0-11", "“0-11” is no day of every year. Write day/month (1/11) or 1 Nov."),
        ("02-30", "“02-30” is no day of every year. Write day/month (1/11) or 1 Nov."),
    ],
)
def test_a_hyphen_that_can_mean_two_days_is_refused_with_both(typed: str, message: str) -> None:
    with pytest.raises(Invalid) as refused:
        parse_day(typed)
    assert refused.value.errors == {"day": message}


def test_a_day_reads_in_the_readers_language() -> None:
    assert str(DAY_TEXTS["11-01"]) == "1 Nov"
    with locale_of("pt"):
        assert str(DAY_TEXTS["11-01"]) == "1 nov."


def test_a_season_is_understood_as_it_is_shown() -> None:
    assert season_name(2099) == "2099/00"
    assert [parse_season(season_name(season)) for season in (2027, 2099)] == [2027, 2099]


def test_a_northern_season_is_the_winter_between_two_years() -> None:
    assert season_span(2027) == (dt.date(2027, 7, 1), dt.date(2028, 6, 30))
    assert [season_of(day) for day in season_span(2027)] == [2027, 2027]
    assert season_span(2027, southern=True)[0] == dt.date(2027, 1, 1)
