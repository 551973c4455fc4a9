from __future__ import annotations

import datetime as dt

import pytest

from nursery.i18n import locale_of
from nursery.services.weeks import Week


@pytest.mark.parametrize(
    ("day", "name"),
    [
        (dt.date(2026, 11, 25), "2026-W48"),
        (dt.date(2027, 1, 3), "2026-W53"),  # a Sunday: its week began in the old year
        (dt.date(2027, 1, 4), "2027-W01"),
        (dt.date(2024, 12, 30), "2025-W01"),
    ],
)
def test_weeks_are_counted_as_iso_8601_counts_them(day: dt.date, name: str) -> None:
    week = Week.of(day)

    assert week.name == name
    assert Week.parse(name) == week
    assert week.holds(day)


@pytest.mark.parametrize(
    "text", ["", "2026-W54", "2027-W53", "2026-W00", "W48", "2026-48", "0001-W01", "9999-W52"]
)
def test_what_names_no_week_is_none(text: str) -> None:
    assert Week.parse(text) is None


def test_a_week_knows_its_days_and_its_neighbours() -> None:
    week = Week.of(dt.date(2026, 11, 25))

    assert (week.monday, week.sunday) == (dt.date(2026, 11, 23), dt.date(2026, 11, 29))
    assert week.plus(-1).sunday == dt.date(2026, 11, 22)
    assert not week.holds(dt.date(2026, 11, 30))


def test_a_week_is_written_in_the_readers_language() -> None:
    week = Week.of(dt.date(2026, 11, 25))
    with locale_of("es"):
        spanish = week.span

    assert "nov" in spanish
    assert spanish != week.span
