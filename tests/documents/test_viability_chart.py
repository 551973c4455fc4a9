"""The curve of a lot's viability, read back as XML."""

from __future__ import annotations

import datetime as dt
import re
from xml.etree import ElementTree as ET

import pytest

from nursery.documents.viability_chart import Mark, Point, ViabilityWords, viability_svg
from nursery.i18n import locale_of

DAY = dt.date(2026, 3, 1)
CURVE = [(DAY + dt.timedelta(30 * step), 0.9 - 0.02 * step) for step in range(20)]
POINTS = [
    Point(DAY - dt.timedelta(200), 0.95, 0.92, 0.97, rules=False),
    Point(DAY, 0.9, None, None, rules=True),
]
MARKS = [Mark(dt.date(2026, 11, 25), "Today", is_today=True), Mark(dt.date(2027, 3, 1), "Next test")]
WORDS = ViabilityWords("Viability of <ours> & theirs", "Viability")


def draw(*, narrow: bool = False) -> bytes:
    return viability_svg(CURVE, POINTS, MARKS, words=WORDS, narrow=narrow)


def texts(svg: bytes) -> list[str]:
    tree = ET.fromstring(svg)  # noqa: S314 -- our own picture
    return ["".join(node.itertext()).strip() for node in tree.iter("{http://www.w3.org/2000/svg}text")]


def test_curve_tests_and_days_are_all_there_by_name() -> None:
    tree = ET.fromstring(draw())  # noqa: S314 -- our own picture
    ids = {node.get("id", "") for node in tree.iter()}

    assert {"curve", "test-0", "test-1", "mark-0", "mark-1"} <= ids
    assert {"Today", "Next test", "Viability", "0 %", "100 %"} <= set(texts(draw()))


@pytest.mark.parametrize(("narrow", "width"), [(False, "720"), (True, "400")])
def test_the_picture_has_a_title_and_a_size_and_leads_nowhere(narrow: bool, width: str) -> None:
    svg = draw(narrow=narrow).decode()

    assert "<title>Viability of &lt;ours&gt; &amp; theirs</title>" in svg
    assert re.search(rf'<svg[^>]* width="{width}"', svg)
    assert re.findall(r"<script|https?://(?!www\.w3\.org)", svg) == []


def test_the_same_lot_gives_the_same_picture() -> None:
    assert draw() == draw()


def test_months_are_written_in_the_readers_language() -> None:
    with locale_of("pt"):
        assert any("set." in text for text in texts(draw()))


def test_a_curve_of_a_few_days_is_drawn_too() -> None:
    svg = viability_svg(CURVE[:1], (), (), words=WORDS)

    assert "curve" in svg.decode()
