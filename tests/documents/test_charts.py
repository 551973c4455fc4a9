"""The calendar chart, read back as XML."""

from __future__ import annotations

import datetime as dt
import re
from xml.etree import ElementTree as ET

import pytest

from nursery.documents import style
from nursery.documents.charts import Bar, ChartRow, ChartWords, calendar_svg
from nursery.i18n import format_short_day, locale_of

SVG = "{http://www.w3.org/2000/svg}"
TODAY = dt.date(2026, 11, 25)
WORDS = ChartWords(
    title="Calendar of <ours> & theirs",
    today="Today",
    waiting="Waiting",
    sowing="Sowing",
    planting="Planting",
    phases={
        "warm-stratify": "Warm stratification", "cold-stratify": "Cold stratification", "emergence": "Emergence",
        "growing": "Growing", "hardening": "Hardening",
    },
)  # fmt: skip
STEPS = (
    ("warm-stratify", 60, 0), ("cold-stratify", 60, 0), ("emergence", 45, 15), ("growing", 190, 0),
    ("hardening", 45, 0),
)  # fmt: skip


def row(start: dt.date, name: str = "Rosa canina", site: str = "Azenha bank") -> ChartRow:
    bars, sow_on = [], start
    for kind, days, wait in STEPS:
        end = start + dt.timedelta(days=days)
        bars.append(Bar(kind, start, end, wait))
        if kind == "emergence":
            sow_on = start
        start = end
    return ChartRow(name, site, bars, sow_on, start)


def tree_of(svg: bytes) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 -- our own picture


def ids(svg: bytes) -> list[str]:
    return [node.get("id", "") for node in tree_of(svg).iter()]


def texts(svg: bytes) -> list[str]:
    return ["".join(node.itertext()).strip() for node in tree_of(svg).iter(f"{SVG}text")]


@pytest.fixture(scope="module")
def two_rows() -> bytes:
    rows = [row(dt.date(2026, 12, 1)), row(dt.date(2027, 1, 10), "Viburnum tinus", "Mill race · Seed to collect")]
    return calendar_svg(rows, today=TODAY, words=WORDS)


def test_there_is_a_bar_for_each_phase_a_pale_one_for_each_wait_and_a_mark_for_sowing_and_planting(
    two_rows: bytes,
) -> None:
    found = ids(two_rows)

    assert sorted(name for name in found if name.startswith("bar-")) == [
        f"bar-{line}-{phase}" for line in range(2) for phase in range(5)
    ]
    assert [name for name in found if name.startswith("wait-")] == ["wait-0-2", "wait-1-2"]
    assert sorted(name for name in found if re.match(r"(sow|plant)-", name)) == [
        "plant-0", "plant-1", "sow-0", "sow-1",
    ]  # fmt: skip
    assert found.count("today") == 1


def test_rows_phases_months_and_the_legend_are_written_out(two_rows: bytes) -> None:
    found = texts(two_rows)

    assert {"Rosa canina", "Azenha bank", "Viburnum tinus", "Mill race · Seed to collect"} <= set(found)
    assert {*WORDS.phases.values(), "Waiting", "Sowing", "Planting", "Today"} <= set(found)
    assert f"Today, {format_short_day(TODAY)}" in found
    assert {"Feb", "Mar", "Jan", "2027"} <= set(found)


def test_nothing_in_the_picture_runs_or_leads_elsewhere(two_rows: bytes) -> None:
    tree = tree_of(two_rows)
    leading = [
        value
        for node in tree.iter()
        for name, value in node.attrib.items()
        if name.endswith("href") and value[0] != "#"
    ]
    outside = [url for url in re.findall(rb"url\(([^)]*)\)", two_rows) if not url.startswith(b"#")]

    assert [node.tag for node in tree.iter() if node.tag.endswith(("script", "image", "foreignObject"))] == []
    assert (leading, outside) == ([], [])
    assert b"DOCTYPE" not in two_rows
    assert set(re.findall(rb"http[^\"' ]*", two_rows)) == {
        b"http://www.w3.org/2000/svg",
        b"http://www.w3.org/1999/xlink",
    }


def test_the_title_is_escaped(two_rows: bytes) -> None:
    title = tree_of(two_rows).find(f"{SVG}title")

    assert title is not None
    assert title.text == "Calendar of <ours> & theirs"


def test_equal_rows_give_equal_pictures(two_rows: bytes) -> None:
    again = calendar_svg(
        [row(dt.date(2026, 12, 1)), row(dt.date(2027, 1, 10), "Viburnum tinus", "Mill race · Seed to collect")],
        today=TODAY,
        words=WORDS,
    )

    assert again == two_rows


def test_a_narrow_chart_has_the_same_bars_on_a_phones_width() -> None:
    rows = [row(dt.date(2026, 12, 1))]
    wide, narrow = (calendar_svg(rows, today=TODAY, words=WORDS, narrow=narrow) for narrow in (False, True))

    assert [i for i in ids(narrow) if i.startswith("bar-")] == [i for i in ids(wide) if i.startswith("bar-")]
    assert (tree_of(wide).get("width"), tree_of(narrow).get("width")) == (
        "1180",
        "400",
    )


def test_what_lies_far_back_is_cut_off() -> None:
    found = ids(calendar_svg([row(dt.date(2026, 5, 1))], today=TODAY, words=WORDS))

    # Warm and cold stratification were over by August; emergence, with its wait, by October 13.
    assert [name for name in found if name.startswith("bar-")] == ["bar-0-2", "bar-0-3", "bar-0-4"]
    assert "sow-0" not in found


def test_a_season_that_is_over_is_shown_whole_and_without_todays_line() -> None:
    found = ids(calendar_svg([row(dt.date(2024, 5, 1))], today=TODAY, words=WORDS))

    assert len([name for name in found if name.startswith("bar-")]) == 5
    assert "today" not in found


def test_months_and_days_are_in_the_readers_language() -> None:
    with locale_of("pt"):
        found = texts(calendar_svg([row(dt.date(2026, 12, 1))], today=TODAY, words=WORDS))

    assert {"dez.", "fev."} & set(found) == {"dez.", "fev."}


def test_no_two_kinds_of_bar_differ_by_colour_alone() -> None:
    looks = [(fill.hatch, fill.line) for fill in style.FILLS.values()]
    hatches = [fill.hatch for fill in style.FILLS.values()]

    assert len(set(looks)) == len(looks)
    assert len(set(hatches)) == len(hatches)


def test_names_of_people_and_places_are_no_markup_or_formula() -> None:
    svg = calendar_svg([row(dt.date(2026, 12, 1), "Rosa $x_1$ <b>", "A & B")], today=TODAY, words=WORDS)

    assert {"Rosa $x_1$ <b>", "A & B"} <= set(texts(svg))


def test_a_chart_of_nothing_is_still_a_picture() -> None:
    assert tree_of(calendar_svg([], today=TODAY, words=WORDS)).tag == f"{SVG}svg"
