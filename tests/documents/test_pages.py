"""Printed pages: what is written on them can be read, and tables carry their heads on."""

from __future__ import annotations

import datetime as dt

import pypdfium2

from nursery.documents.paged import Pages
from nursery.documents.pages import Head


def text_of(content: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(content)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def pages() -> Pages:
    return Pages(title="Stand", foot="Draft of a stand", day=dt.date(2026, 3, 1), language="en")


def test_every_page_says_what_it_is_and_where_it_stands() -> None:
    made = pages()
    made.table_of([Head("Species", 2), Head("Plants", 1, "RIGHT")], [["Alnus", str(n)] for n in range(90)])
    texts = text_of(made.content())

    assert len(texts) > 1
    for number, text in enumerate(texts, 1):
        assert "Draft of a stand" in text
        assert f"{number} / {len(texts)}" in text


def test_a_table_repeats_its_heads_on_every_page_and_loses_no_row() -> None:
    made = pages()
    heads = [Head("Species", 2), Head("Plants", 1, "RIGHT")]
    made.table_of(heads, [["Alnus", f"n{n}"] for n in range(90)], total=["All", "4005"])
    texts = text_of(made.content())

    assert all("Species" in text for text in texts)
    together = " ".join(texts).split()
    assert [word for word in together if word.startswith("n")] == [f"n{n}" for n in range(90)]
    assert together.index("4005") > together.index("n89")


def test_signs_beyond_latin_are_printed_and_missing_ones_are_spelled_plainly() -> None:
    made = pages()
    made.heading("Őrség")
    made.paragraph("São João → Łódź, ≥ 3 m²")
    (text,) = text_of(made.content())

    assert "Őrség" in text
    assert "São João > Łódź, >= 3 m²" in text


def test_an_empty_fact_leaves_a_rule_to_be_filled_in_by_hand() -> None:
    made = pages()
    made.facts([("Species", "Alnus glutinosa"), ("Seal", "")])
    (text,) = text_of(made.content())

    assert "Alnus glutinosa" in text
    assert "____" in text.split("Seal")[1]
