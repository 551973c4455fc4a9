"""Files of any make give the same table; what is no table is refused in words."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import Any

import openpyxl
import pytest

from nursery.errors import Invalid
from nursery.tabular import table as table_module
from nursery.tabular import workbooks
from nursery.tabular.reader import read_table
from nursery.tabular.table import Table

KNOWN = {"code", "nome", "area ha", "area"}


def read(content: bytes, **options: Any) -> Table:
    return read_table(content, KNOWN.__contains__, **options)


def refusal(content: bytes) -> str:
    with pytest.raises(Invalid) as caught:
        read(content)
    return caught.value.errors["file"]


def workbook(*rows: list[Any], title: str = "Sites") -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = title
    for row in rows:
        sheet.append(row)
    return book


def saved(book: openpyxl.Workbook) -> bytes:
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_found(separator: str) -> None:
    text = "\n".join(separator.join(cells) for cells in (["code", "nome"], ["A", "Vale"], ["B", "Foz"]))

    table = read(text.encode())

    assert table.layout.separator == separator
    assert table.rows == [["A", "Vale"], ["B", "Foz"]]


def test_decimal_commas_do_not_pass_for_separators() -> None:
    table = read(b"code;area ha\nA;1,5\nB;2,25\nC;0,75\n")

    assert table.layout.separator == ";"
    assert table.rows == [["A", "1,5"], ["B", "2,25"], ["C", "0,75"]]


def test_the_separator_is_found_without_known_headings() -> None:
    table = read(b"alpha;beta\n1,5;2,5\n3,5;4,5\n")

    assert (table.layout.separator, table.headings) == (";", ("alpha", "beta"))


def test_excels_own_line_about_the_separator_is_obeyed() -> None:
    table = read(b"sep=;\r\ncode;nome\r\nA;Vale, o velho\r\n")

    assert table.headings == ("code", "nome")
    assert table.rows == [["A", "Vale, o velho"]]
    assert table.numbers == [3]


@pytest.mark.parametrize(
    ("encoding", "named"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
        ("cp1252", "cp1252"),
        ("latin-1", "cp1252"),
    ],
)
def test_the_encoding_is_found(encoding: str, named: str) -> None:
    table = read("code,nome\nA,Vale do Açor é fundo\n".encode(encoding))

    assert table.layout.encoding == named
    assert table.headings == ("code", "nome")
    assert table.rows == [["A", "Vale do Açor é fundo"]]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_line_end_will_do(end: str) -> None:
    table = read(end.join(["code,nome", "A,Vale", "B,Foz"]).encode())

    assert table.rows == [["A", "Vale"], ["B", "Foz"]]


def test_blank_lines_are_left_out_and_rows_keep_their_numbers() -> None:
    table = read(b"code,nome\n\nA,Vale\n , \n\nB,Foz\n\n")

    assert table.rows == [["A", "Vale"], ["B", "Foz"]]
    assert table.numbers == [3, 6]


def test_quoted_line_ends_stay_in_their_cell_and_count_as_one_row() -> None:
    table = read(b'code,nome\nA,"Vale\nfundo, ""o velho"""\nB,Foz\n')

    assert table.rows == [["A", 'Vale\nfundo, "o velho"'], ["B", "Foz"]]
    assert table.numbers == [2, 3]


def test_empty_trailing_columns_are_dropped() -> None:
    table = read(b"code,nome,,\nA,Vale,,\nB,Foz\n")

    assert table.headings == ("code", "nome")
    assert table.rows == [["A", "Vale"], ["B", "Foz"]]
    assert table.overlong == frozenset()


def test_a_row_with_more_cells_than_headings_is_marked() -> None:
    table = read(b"code,area\nA,1,5\nB,2\n")

    assert table.overlong == {2}


def test_titles_and_comments_above_the_headings_are_passed_over() -> None:
    table = read(b"Our sites\n\n# Code: your own\ncode,nome,area\nA,Vale,3\n")

    assert table.layout.header_row == 4
    assert table.headings == ("code", "nome", "area")
    assert table.numbers == [5]


def test_unknown_headings_are_the_first_line_as_wide_as_any() -> None:
    table = read(b"Our sites,,\nalpha,beta,gamma\n1,2,3\n")

    assert table.headings == ("alpha", "beta", "gamma")


def test_a_code_that_begins_with_a_hash_is_no_comment() -> None:
    table = read(b"code,nome\n#1,Vale\n")

    assert table.rows == [["#1", "Vale"]]


def test_a_taste_of_a_file_stops_early() -> None:
    table = read(b"code,nome\n" + b"A,Vale\n" * 100, limit=3)

    assert len(table.rows) == 3


def test_a_workbook_gives_values_as_stored() -> None:
    day = dt.datetime(2026, 11, 1)  # noqa: DTZ001 -- spreadsheets have no zones
    table = read(
        saved(workbook(["code", "nome", "area ha"], ["A", day, 1.5], [None, None, None], [7, "Foz", None]))
    )

    assert (table.layout.form, table.layout.sheet) == ("xlsx", "Sites")
    assert table.rows == [["A", day, 1.5], [7, "Foz", None]]
    assert table.numbers == [2, 4]


def test_the_first_sheet_with_anything_in_it_is_read() -> None:
    book = workbook(title="Empty")
    second = book.create_sheet("Full")
    second.append(["code", "nome"])
    second.append(["A", "Vale"])

    table = read(saved(book))

    assert (table.layout.sheet, table.rows) == ("Full", [["A", "Vale"]])


def test_a_hidden_sheet_is_passed_over() -> None:
    book = workbook(["code", "nome"], ["X", "Old"], title="Hidden")
    book.worksheets[0].sheet_state = "hidden"
    shown = book.create_sheet("Shown")
    shown.append(["code", "nome"])
    shown.append(["A", "Vale"])

    assert read(saved(book)).rows == [["A", "Vale"]]


def test_a_workbook_row_with_more_cells_than_headings_is_marked() -> None:
    table = read(saved(workbook(["code", "area"], ["A", 1, 5], ["B", 2])))

    assert table.overlong == {2}


def test_a_wrong_extent_stored_in_the_workbook_cuts_nothing_off() -> None:
    content = rewritten(
        saved(workbook(["code", "nome"], ["A", "Vale"], ["B", "Foz"])),
        lambda name, part: part.replace(b'ref="A1:B3"', b'ref="A1"') if name.endswith("sheet1.xml") else part,
    )

    assert read(content).rows == [["A", "Vale"], ["B", "Foz"]]


def test_the_1904_calendar_is_known() -> None:
    book = workbook(["code", "nome"], ["A", 40000])
    book.epoch = openpyxl.utils.datetime.MAC_EPOCH

    assert read(saved(book)).epoch == dt.datetime(1904, 1, 1)  # noqa: DTZ001 -- spreadsheets have no zones


def test_formulas_that_were_never_calculated_are_refused() -> None:
    content = saved(workbook(["code", "area"], ["A", "=1+1"]))

    assert refusal(content).startswith("This workbook has formulas whose results were never stored.")


def test_formulas_with_results_are_read_as_values() -> None:
    content = rewritten(
        saved(workbook(["code", "area"], ["A", "=1+1"])),
        lambda _name, part: part.replace(b"<v />", b"<v>2</v>").replace(b"<v></v>", b"<v>2</v>"),
    )

    assert read(content).rows == [["A", 2]]


def rewritten(content: bytes, change: Any) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
    return buffer.getvalue()


@pytest.mark.parametrize("content", [b"", b"\n\n", b" ; ; \n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_refused(content: bytes) -> None:
    assert refusal(content) == "The file is empty: it has no headings and no rows."


def test_an_empty_workbook_is_refused() -> None:
    assert refusal(saved(workbook())) == "The file is empty: it has no headings and no rows."


@pytest.mark.parametrize(
    "content",
    [bytes(range(256)) * 4, b"\x89PNG\r\n\x1a\n\x00\x00", b"%PDF-1.7\n\x00\xff\x00\x81", b"\xff\xfe\x00\xd8"],
)
def test_what_is_no_text_is_refused(content: bytes) -> None:
    assert refusal(content).startswith("This file is not a table that can be read.")


def test_an_old_workbook_is_refused_by_name() -> None:
    assert refusal(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)) == (
        "This is an old workbook (.xls), or one locked by a password. Save it as .xlsx or CSV."
    )


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9, 0.999])
def test_a_workbook_cut_short_is_refused(part: float) -> None:
    content = saved(workbook(["code", "nome"], *([f"A{n}", "Vale"] for n in range(200))))

    assert refusal(content[: int(len(content) * part)]).startswith("This workbook is damaged or was cut short")


@pytest.mark.parametrize("broken", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml"])
def test_a_workbook_with_broken_parts_is_refused(broken: str) -> None:
    content = rewritten(
        saved(workbook(["code", "nome"], ["A", "Vale"])),
        lambda name, part: part[: len(part) // 2] if name == broken else part,
    )

    assert refusal(content).startswith("This workbook is damaged or was cut short")


def test_a_workbook_whose_packing_is_spoilt_is_refused() -> None:
    """Found by trying: what cannot be unpacked was an error of ours."""
    content = bytearray(saved(workbook(["code", "nome"], ["A", "Vale"])))
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        part = archive.getinfo("xl/worksheets/sheet1.xml")
    begins = part.header_offset + 30 + len(part.filename)  # a local header has thirty bytes and the name
    content[begins : begins + 4] = b"\xff" * 4

    assert refusal(bytes(content)).startswith("This workbook is damaged or was cut short")


def test_a_zip_file_that_is_no_workbook_is_refused() -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("content.xml", "<a/>")

    assert refusal(buffer.getvalue()).startswith("This is not an Excel workbook (.xlsx).")


def test_a_zip_bomb_is_refused_before_it_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbooks, "MAX_UNPACKED", 1000)
    content = saved(workbook(["code", "nome"], ["A", "x" * 2000]))

    assert refusal(content) == "This workbook unpacks to more than can be read. Split it into smaller files."


def test_a_quotation_mark_that_is_never_closed_is_refused_with_its_row() -> None:
    assert refusal(b'code,nome\nA,Vale\nB,"Foz\nC,Rio\n').startswith("Row 3 cannot be read: a quotation mark")


def test_too_many_rows_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("nursery.tabular.reader.MAX_ROWS", 3)

    with pytest.raises(Invalid) as caught:
        read(b"code,nome\n" + b"A,Vale\n" * 4, limit=3)

    assert caught.value.errors == {"file": "The file has more than 3 rows. Split it into smaller files."}
    assert table_module.MAX_ROWS == 100_000


def test_too_many_columns_are_refused() -> None:
    wide = ",".join(f"c{n}" for n in range(201))

    assert refusal(f"{wide}\n{wide}\n".encode()).startswith("The file has more than 200 columns.")


@pytest.mark.parametrize("reading", ["&big;", "&file;"])
def test_a_workbook_that_defines_entities_is_refused(reading: str) -> None:
    """Neither one that grows when it is read nor one that asks for a file of this machine."""
    laughs = (
        '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY big "&a;&a;&a;&a;"><!ENTITY file SYSTEM "file:///etc/hostname">]>'
    )

    def define(name: str, part: bytes) -> bytes:
        head, root, rest = part.partition(b"<worksheet")
        return head + laughs.encode() + root + rest.replace(b"Vale", reading.encode()) if root else part

    content = rewritten(saved(workbook(["code", "nome"], ["A", "Vale"])), define)

    assert refusal(content).startswith("This workbook is damaged or was cut short")
