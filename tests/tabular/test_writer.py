"""Tables out: exact CSV, true dates and numbers in XLSX, and no cell that calculates."""

from __future__ import annotations

import csv
import datetime as dt
import io
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import pytest
from openpyxl import load_workbook

from nursery.tabular.writer import TRIGGERS, Cell, Heading, Sheet, write_csv, write_workbook, write_xlsx

HEADINGS = [
    Heading("Code"),
    Heading("Tested on", "date"),
    Heading("Germination", "percent"),
    Heading("Amount (g)", "number", digits=3),
]
ROWS: list[list[Cell]] = [
    ["QUUE-4223-R", dt.date(2026, 11, 1), 0.855, 1250.5],
    ['say "ten", or\nso', None, None, -3],
]


def test_csv_follows_the_rules() -> None:
    text = b"".join(write_csv(HEADINGS, ROWS)).decode()

    assert text == (
        "Code,Tested on,Germination,Amount (g)\r\n"
        "QUUE-4223-R,2026-11-01,0.855,1250.5\r\n"
        '"say ""ten"", or\nso",,,-3\r\n'
    )


def test_a_byte_order_mark_comes_when_asked_for() -> None:
    marked = b"".join(write_csv(HEADINGS, [], bom=True))

    assert marked == b"\xef\xbb\xbf" + b"".join(write_csv(HEADINGS, []))


def sheet(rows: list[list[Cell]]) -> list[tuple[object, ...]]:
    book = load_workbook(io.BytesIO(b"".join(write_xlsx("Lots", HEADINGS, rows))))
    return [tuple(cell.value for cell in row) for row in book.active.iter_rows()]  # type: ignore[union-attr]


def test_xlsx_holds_true_dates_and_numbers_under_a_frozen_heading() -> None:
    book = load_workbook(io.BytesIO(b"".join(write_xlsx("Lots: [all]", HEADINGS, ROWS))))
    made = book["Lots   all"]
    midnight = dt.datetime(2026, 11, 1)  # noqa: DTZ001 -- a spreadsheet knows no time zones

    assert made.freeze_panes == "A2"
    assert [cell.value for cell in made[1]] == ["Code", "Tested on", "Germination", "Amount (g)"]
    assert [cell.value for cell in made[2]] == ["QUUE-4223-R", midnight, 0.855, 1250.5]
    assert [cell.number_format for cell in made[2]] == ["General", "yyyy-mm-dd", "0.0%", "0.000"]
    assert made["A1"].font.bold


def test_a_workbook_holds_each_table_on_its_own_sheet() -> None:
    sheets = [
        Sheet("Lots", HEADINGS, ROWS),
        Sheet("Weeks/all", [Heading("Week"), Heading("Plants", "number")], [["1", 7]]),
    ]
    book = load_workbook(io.BytesIO(b"".join(write_workbook(sheets))))

    assert book.sheetnames == ["Lots", "Weeks all"]
    assert [cell.value for cell in book["Weeks all"][2]] == ["1", 7]
    assert book["Lots"]["D2"].value == 1250.5


@pytest.mark.parametrize("trigger", TRIGGERS)
def test_a_text_that_would_calculate_is_neutralised(trigger: str) -> None:
    text = f"{trigger}1+1"
    rows: list[list[Cell]] = [[text, None, None, None]]

    cells = list(csv.reader(io.StringIO(b"".join(write_csv(HEADINGS, rows)).decode(), newline="")))
    book = load_workbook(io.BytesIO(b"".join(write_xlsx("Lots", HEADINGS, rows))))
    cell = book["Lots"]["A2"]

    assert cells[1][0] == f"'{text}"
    assert (cell.data_type, cell.quotePrefix) == ("s", True)
    assert str(cell.value).strip() == text.strip()


@pytest.mark.parametrize("unseen", ["\x01", "\0\x1f", "\ufeff", "\u202e", "\u200b\x7f"])
def test_what_is_not_seen_hides_no_formula(unseen: str) -> None:
    rows: list[list[Cell]] = [[f"{unseen}=1+1", None, None, None]]

    cells = list(csv.reader(io.StringIO(b"".join(write_csv(HEADINGS, rows)).decode(), newline="")))
    cell = load_workbook(io.BytesIO(b"".join(write_xlsx("Lots", HEADINGS, rows))))["Lots"]["A2"]

    assert cells[1][0] == "'" + f"{unseen}=1+1".replace("\0", "")
    assert (cell.data_type, cell.quotePrefix) == ("s", True)


def test_numbers_stay_numbers_below_zero_too() -> None:
    headings, rows = [Heading("Change", "number"), Heading("Name")], [[-1.5, "-1.5"]]

    assert b"\r\n-1.5,'-1.5\r\n" in b"".join(write_csv(headings, rows))
    sheet = load_workbook(io.BytesIO(b"".join(write_xlsx("Lots", headings, rows))))["Lots"]
    assert [(cell.data_type, cell.value) for cell in sheet[2]] == [("n", -1.5), ("s", "-1.5")]


def test_every_writer_of_tables_neutralises() -> None:
    writers = [file for file in Path("nursery").rglob("*.py") if "csv.writer(" in file.read_text("utf-8")]
    # Templates hold the product's own words alone.
    open_ = {file.name for file in writers if "neutralise" not in file.read_text("utf-8")}

    assert len(writers) > 4
    assert open_ == {"templates.py"}


def test_a_heading_is_neutralised_too() -> None:
    text = b"".join(write_csv([Heading("=HYPERLINK(1)")], [])).decode()

    assert text == "'=HYPERLINK(1)\r\n"


def test_control_characters_do_not_break_the_files() -> None:
    rows: list[list[Cell]] = [["a\0b\x1fc\uffff", None, None, None]]

    assert sheet(rows)[1][0] == "abc"
    assert b"".join(write_csv(HEADINGS, rows)).decode().splitlines()[1].startswith("ab\x1fc")


def test_csv_is_written_while_the_rows_come() -> None:
    def many() -> Iterator[list[Cell]]:
        for number in range(100_000):
            yield [f"lot {number}", dt.date(2026, 1, 1), 0.5, number]

    tracemalloc.start()
    size = sum(len(portion) for portion in write_csv(HEADINGS, many()))
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert size > 2_000_000
    assert peak < 1_000_000
