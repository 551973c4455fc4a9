"""Hours by week as a picture."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from nursery.documents.hours_chart import HoursBar, HoursWords, hours_svg

WORDS = HoursWords("Hours by week", "Hours", "Paid work", "Given work", "Too much", "Paid people", "All people")
MONDAY = dt.date(2027, 3, 1)
BARS = [
    HoursBar(MONDAY, by_paid=30, by_volunteers=5, over=7, paid=30, volunteers=5),
    HoursBar(MONDAY + dt.timedelta(days=7), by_paid=12, by_volunteers=0, over=0, paid=30, volunteers=5),
]


@pytest.fixture(scope="module")
def drawn() -> str:
    return hours_svg(BARS, words=WORDS).decode()


def height_of(svg: str, name: str) -> float:
    path = re.search(rf'<g id="{name}">\s*<path d="([^"]+)"', svg)
    assert path
    ys = [float(pair.split()[1]) for pair in re.findall(r"[ML] ([\d.-]+ [\d.-]+)", path[1])]
    return max(ys) - min(ys)


def test_bars_are_as_high_as_their_hours(drawn: str) -> None:
    unit = height_of(drawn, "paid-0") / 30
    assert [height_of(drawn, name) / unit for name in ("given-0", "over-0", "paid-1")] == pytest.approx([5, 7, 12])


def test_a_week_without_excess_has_no_bar_for_it(drawn: str) -> None:
    assert ('id="over-0"' in drawn, 'id="over-1"' in drawn, 'id="given-1"' in drawn) == (True, False, False)


def test_lines_and_words_are_there_and_nothing_leads_out(drawn: str) -> None:
    assert all(f'id="{name}"' in drawn for name in ("has-paid", "has-all", "legend"))
    assert all(word in drawn for word in ("Too much", "All people", "1 Mar"))
    assert re.findall(r'(?:href|src)="(?!#)', drawn) == []


def test_a_phone_gets_a_narrow_one_and_no_week_is_no_error() -> None:
    assert 'width="400"' in hours_svg(BARS, words=WORDS, narrow=True).decode()
    assert 'id="paid-0"' not in hours_svg([], words=WORDS).decode()
