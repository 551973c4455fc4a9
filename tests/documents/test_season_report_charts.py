"""Charts of a report: their numbers stand in them, and their grounds are told apart in grey."""

from __future__ import annotations

import io
import itertools
import re

from PIL import Image

from nursery.documents.report_parts import BarRow, Chart, RangeRow
from nursery.documents.season_report_charts import DPI, INKS, chart_png, chart_svg
from nursery.services.contrast import contrast

BARS = Chart(
    "planted", "8 of 10 plants stand",
    [
        BarRow("Quercus suber", [(300, "done"), (100, "other")], "400 of 500 (80 %)", 500, is_taxon=True),
        BarRow("A site with quite a long name by the river", [(0, "done")], "0 of 20", 20),
    ],
    legend=[("done", "Planted"), ("other", "From elsewhere")], mark="Wanted",
)  # fmt: skip
RANGES = Chart("survival", "82 of 100 live", [RangeRow("Quercus suber", 0.7, 0.82, 0.9, "82 % (70 % to 90 %)")])


def words(svg: bytes) -> str:
    return " ".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg.decode()))


def test_numbers_and_names_are_written_in_the_picture() -> None:
    for narrow in (False, True):
        told = words(chart_svg(BARS, narrow=narrow)).replace("\u00a0", " ")
        for part in ("Quercus suber", "400 of 500", "Planted", "Wanted", "0 of 20"):
            assert part in told
    assert "82 % (70 % to 90 %)" in words(chart_svg(RANGES)).replace("\u00a0", " ")


def test_the_picture_carries_its_title_and_leads_nowhere() -> None:
    svg = chart_svg(BARS).decode()
    assert "<title>8 of 10 plants stand</title>" in svg
    assert "<script" not in svg
    assert not re.search(r'href="(?!#)', svg)


def test_equal_figures_give_equal_pictures() -> None:
    assert chart_svg(BARS) == chart_svg(BARS)
    assert chart_png(RANGES) == chart_png(RANGES)


def test_grounds_are_told_apart_in_grey_or_by_hatching() -> None:
    for one, other in itertools.combinations(INKS.values(), 2):
        assert one.hatch != other.hatch or contrast(one.ground, other.ground) >= 3


def test_paper_pictures_are_as_wide_as_the_text_at_200_dots_an_inch() -> None:
    with Image.open(io.BytesIO(chart_png(BARS))) as picture:
        assert abs(picture.width - 493 / 72 * DPI) < 2
        grey = picture.convert("L")
        darkest, palest = grey.getextrema()
        assert darkest < 90
        assert palest > 200
