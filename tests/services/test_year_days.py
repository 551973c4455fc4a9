"""Days of every year, and seasons."""

from __future__ import annotations

import datetime as dt

import pytest

from nursery.i18n import LOCALES, locale_of
from nursery.services.importing.seasons import parse_day, parse_season
from nursery.services.seasons import season_name, season_of, season_span
from nursery.services.year_days import DAY_TEXTS, day_text


@pytest.mark.parametrize("locale", LOCALES)
def test_every_day_is_understood_as_it_is_shown(locale: str) -> None:
    with locale_of(locale):
        wrong = [day for day in DAY_TEXTS if parse_day(day_text(day)) != day]
    assert (wrong, len(DAY_TEXTS)) == ([], 365)


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
