"""Labels as they come off the printer: the code leads where it should, and no text leaves its label."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pypdfium2
import pytest
import zxingcpp

from nursery.documents.label_layouts import A4, EDGE, SHEETS, Layout, roll
from nursery.documents.labels import Label, Line, labels_pdf

DAY = dt.date(2026, 11, 25)
ADDRESS = "https://nursery.example.org/batches/12345"
#: The densest sheet, one without margins, one with wide labels, and rolls of three shapes.
LAYOUTS = {name: SHEETS[name] for name in ("65-38x21", "24-70x37", "14-99x38")} | {
    f"roll {width} × {height}": roll(width, height) for width, height in ((62, 29), (30, 15), (40, 60))
}
#: A millimetre in points.
MM = 72 / 25.4


def labels(count: int, *, address: str = ADDRESS) -> list[Label]:
    return [
        Label(
            f"{address}{number}",
            (
                Line("B26-014", "bold", 1.7),
                Line("Chamaecytisus proliferus subsp. longissimonominatus var. maximus", "italic", 1.25),
                Line("Lot QURT-4224-C"),
                Line("Sown 16 Oct 2026"),
                Line(f"Tray {number} of {count}"),
                Line("Açude de São João, ñandú, Łódź, a container with a name that never ends 2027/28"),
            ),
        )
        for number in range(1, count + 1)
    ]


def opened(pdf: bytes) -> Any:
    return pypdfium2.PdfDocument(pdf)


def codes(pdf: bytes) -> list[str]:
    """What a reader finds on the drawn pages, from the upper left on."""
    found: list[str] = []
    for page in opened(pdf):
        read = zxingcpp.read_barcodes(page.render(scale=200 / 72).to_pil())
        places = sorted((round(one.position.top_left.y / 20), one.position.top_left.x, one.text) for one in read)
        found += [text for _down, _along, text in places]
    return found


@pytest.fixture(scope="module", params=LAYOUTS.values(), ids=list(LAYOUTS))
def printed(request: pytest.FixtureRequest) -> tuple[Layout, bytes]:
    """A full sheet (or one label of a roll), made once for all that is asked of it."""
    layout: Layout = request.param
    return layout, labels_pdf(labels(layout.each), layout, day=DAY, title="Labels")


def test_every_code_leads_to_its_address(printed: tuple[Layout, bytes]) -> None:
    layout, pdf = printed

    assert codes(pdf) == [label.address for label in labels(layout.each)]


def test_no_text_leaves_its_label_or_comes_too_near_the_edge_of_a_sheet(printed: tuple[Layout, bytes]) -> None:
    layout, pdf = printed
    texts = opened(pdf)[0].get_textpage()
    homes = [layout.corner(position) for position in range(layout.each)]
    edge = EDGE if layout.each > 1 else 0.0

    for at in range(texts.count_chars()):
        left, bottom, right, top = (number / MM for number in texts.get_charbox(at, loose=False))
        if right - left < 0.01:  # blanks have no ink
            continue
        upper, lower = layout.page_height - top, layout.page_height - bottom
        assert min(left, upper, layout.page_width - right, layout.page_height - lower) > edge - 1.0
        assert any(
            x <= left and right <= x + layout.width and y <= upper and lower <= y + layout.height for x, y in homes
        ), texts.get_text_range(at, 1)


def test_accents_are_printed_as_letters() -> None:
    page = opened(labels_pdf(labels(1), roll(100, 60), day=DAY, title="Labels"))[0]

    text = page.get_textpage().get_text_range()

    assert "Açude de São João, ñandú, Łódź" in text
    assert "Tray 1 of 1" in text


def test_a_sheet_used_in_part_goes_on_where_it_ended() -> None:
    layout = SHEETS["24-70x37"]
    pdf = labels_pdf(labels(6), layout, day=DAY, title="Labels", start=22)

    read = zxingcpp.read_barcodes(opened(pdf)[0].render(scale=2).to_pil())
    assert len(opened(pdf)) == 2  # two on the rest of the first sheet, four on the next
    assert codes(pdf) == [f"{ADDRESS}{number}" for number in range(1, 7)]
    assert {one.position.top_left.y // (2 * MM * 37) for one in read} == {7}  # both in the last row


def test_sheets_are_a4_and_labels_lie_on_them() -> None:
    pdf = labels_pdf(labels(1), SHEETS["24-64x34"], day=DAY, title="Labels")
    assert opened(pdf)[0].get_size() == pytest.approx((A4[0] * MM, A4[1] * MM), abs=0.1)
    for layout in SHEETS.values():
        assert (layout.page_width, layout.page_height) == A4
        x, y = layout.corner(layout.each - 1)
        assert x + layout.width <= A4[0] + 1e-9
        assert y + layout.height <= A4[1] + 1e-9


@pytest.mark.parametrize(("width", "height"), [(20, 30), (62, 10), (130, 30), (62, 250)])
def test_labels_of_impossible_size_are_refused(width: float, height: float) -> None:
    with pytest.raises(ValueError, match="too small or too large"):
        roll(width, height)


def test_a_start_beyond_the_sheet_is_refused() -> None:
    with pytest.raises(ValueError, match="no such label"):
        labels_pdf(labels(1), roll(62, 29), day=DAY, title="Labels", start=1)
