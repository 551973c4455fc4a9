"""Long tables: every cell in its order, heads on every page, sums never alone."""

from __future__ import annotations

import datetime as dt

import pypdfium2

from nursery.documents.long_tables import add_long_table
from nursery.documents.paged import Pages
from nursery.documents.pages import Head

HEADS = (Head("Species", 2.0), Head("Plants", 1.0, "RIGHT"))


def made(rows: list[list[str]], total: list[str] | None = None) -> list[str]:
    pages = Pages(title="T", foot="F", day=dt.date(2026, 11, 30), language="en")
    add_long_table(pages, HEADS, rows, total=total)
    read = pypdfium2.PdfDocument(pages.content())
    found = [page.get_textpage().get_text_bounded() for page in read]
    read.close()
    return found


def test_every_row_stands_in_its_order_under_heads_on_every_page() -> None:
    rows = [[f"Species {at}", str(1000 + at)] for at in range(120)]
    pages = made(rows)
    assert len(pages) == 3
    assert all(page.split()[:2] == ["Species", "Plants"] for page in pages)
    text = " ".join(" ".join(pages).split())
    places = [text.index(f"{name} {plants}") for name, plants in rows]
    assert places == sorted(places)


def test_a_long_cell_is_wrapped_at_words_and_a_long_word_is_cut() -> None:
    words = " ".join(f"word{at}" for at in range(60))
    text = " ".join("".join(made([[words, "1"], ["x" * 200, "2"]])).split())
    assert words in text
    assert "x" * 200 in text.replace(" ", "")


def test_sums_stand_on_the_page_of_the_last_row() -> None:
    for count in range(30, 60):
        pages = made([[f"Species {at}", str(at)] for at in range(count)], total=["All together", "77"])
        last = next(page for page in pages if "All together" in page)
        assert f"Species {count - 1}" in last


def test_signs_that_the_fonts_lack_are_spelled_out() -> None:
    assert ">= 30" in made([["≥ 30", "1"]])[0]
