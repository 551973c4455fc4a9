"""What a file is understood to say, and every reason to refuse a row of it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.models import Change, Population, Site, Species, Upload

HEAD = "code,name,species,latitude,longitude"
ROW = "P-9,Serra,Quercus suber,38.3,-8.3"


def values(desk: Any, kind: str, content: str | bytes) -> list[dict[str, Any]]:
    found = desk.look(kind, content)
    assert [(f.row, f.column, f.reason) for f in found.findings] == []
    return [write.values for write in found.writes]


def test_a_preview_writes_nothing(desk: Any, session: Session) -> None:
    desk.look("populations", f"{HEAD}\n{ROW}\n")

    counts = [session.scalar(select(func.count()).select_from(t)) for t in (Population, Species, Change, Upload)]
    assert counts == [0, 0, 0, 0]


@pytest.mark.parametrize(
    "headings",
    [
        "Code;Name;Species;Latitude;Longitude",
        "CÓDIGO;NOME;ESPÉCIE;LAT.;LONG.",
        "código;nombre;especie;latitud;longitud",
        "Population code;stand name;Scientific name;Latitude (WGS84);Longitude (WGS84)",
        "codigo;nome;especie;lat;lon",
    ],
)
def test_headings_are_recognised_in_three_languages(desk: Any, headings: str) -> None:
    found = desk.look("populations", f"{headings}\nP-9;Serra;Quercus suber;38,3;-8,3\n")

    assert found.mapping == ("code", "name", "species", "latitude", "longitude")
    assert found.missing == ()
    assert [write.values for write in found.writes] == [
        {"code": "P-9", "name": "Serra", "species": "quercus-suber", "latitude": 38.3, "longitude": -8.3}
    ]


def test_unknown_columns_are_left_out_and_a_person_may_choose_them(desk: Any) -> None:
    content = "Ref,name,species,latitude,longitude,colour\nP-9,Serra,Quercus suber,38.3,-8.3,green\n"

    by_name = desk.look("populations", content)
    by_hand = desk.look("populations", content, ["code", "name", "species", "latitude", "longitude", "basin"])

    assert by_name.mapping == ("", "name", "species", "latitude", "longitude", "")
    assert [column.key for column in by_name.missing] == ["code"]
    assert [f.reason for f in by_name.findings] == ["Code is missing. A new record needs it."]
    assert by_hand.mapping == ("code", "name", "species", "latitude", "longitude", "basin")
    assert (by_hand.new, by_hand.refused) == (1, 0)
    assert by_hand.writes[0].values["basin"] == "green"


def test_a_field_chosen_twice_or_unknown_is_filled_once(desk: Any) -> None:
    found = desk.look("populations", f"{HEAD}\n{ROW}\n", ["code", "code", "no such field"])

    assert found.mapping == ("code", "", "", "", "")


def test_the_first_rows_show_what_was_understood(desk: Any, basin: None) -> None:
    found = desk.look(
        "lots",
        "population;collected on;ripening year;amount;germination;purity\nP-1;28/10/2026;2026;1250,5;85 %;0,98\n",
    )

    (number, cells), *rest = found.samples
    assert (number, rest) == (2, [])
    assert [(cell.written, cell.understood) for cell in cells] == [
        ("P-1", "P-1"),
        ("28/10/2026", "28 Oct 2026"),
        ("2026", "2026"),
        ("1250,5", "1,250.5"),
        ("85 %", "0.85"),
        ("0,98", "0.98"),
    ]


def test_what_would_change_is_shown_beside_what_is_on_record(desk: Any, basin: None) -> None:
    desk.bring("sites", "code,name,latitude,longitude,area (ha),planting opens\nS-9,Ford,38.1,-7.9,2,1 Nov\n")

    found = desk.look(
        "sites",
        "code,name,latitude,longitude,area (ha),planting opens\nS-9,Ford,38.2,-7.9,2.50,15/11\nS-10,New,38,-8,,\n",
    )

    assert [(one.row, one.name, one.column, one.before, one.after) for one in found.changes] == [
        (2, "S-9", "Latitude", "38.1", "38.2"),
        (2, "S-9", "Area (ha)", "2", "2.5"),
        (2, "S-9", "Planting opens", "1 November", "15 November"),
    ]


@pytest.mark.parametrize(
    ("written", "understood"),
    [("0.85", 0.85), ("85", 0.85), ("85 %", 0.85), ("85%", 0.85), ("0,85", 0.85), ("1", 1.0), ("100", 1.0)],
)
def test_fractions_are_understood_however_written(desk: Any, basin: None, written: str, understood: float) -> None:
    content = f"population;collected on;ripening year;amount;germination\nP-1;2026-10-28;2026;10;{written}\n"

    assert values(desk, "lots", content)[0]["germination"] == understood


def test_under_a_percent_heading_a_bare_one_is_one_percent(desk: Any, basin: None) -> None:
    content = (
        "population;collected on;ripening year;amount;germination %\n"
        "P-1;2026-10-28;2026;10;85\nP-1;2026-10-27;2026;10;1\nP-1;2026-10-26;2026;10;0,5\n"
    )

    assert [row["germination"] for row in values(desk, "lots", content)] == [0.85, 0.01, 0.005]


def test_a_number_that_could_be_thousands_follows_the_rest_of_the_file(desk: Any) -> None:
    head = "code;name;latitude;longitude;area"

    comma = values(desk, "sites", f"{head}\nA;A;38,15;-8,15;1,250\nB;B;38,16;-8,16;1.250\n")
    doubtful = desk.reasons("sites", f"{head}\nA;A;38;-8;1,250\n")

    assert [row["area_ha"] for row in comma] == [1.25, 1250.0]
    assert doubtful[0][:3] == (2, "area", "1,250")
    assert doubtful[0][3].startswith("“1,250” can be read as 1.250 or as 1250.")


def test_a_date_has_its_day_first_unless_its_column_shows_otherwise(desk: Any, basin: None) -> None:
    head = "population,collected on,ripening year,amount"

    day_first = values(desk, "lots", f"{head}\nP-1,05/10/2026,2026,1\nP-1,28/10/2026,2026,1\n")
    month_first = values(desk, "lots", f"{head}\nP-1,10/05/2026,2026,1\nP-1,10/28/2026,2026,1\n")
    alone = values(desk, "lots", f"{head}\nP-1,05/10/2026,2026,1\n")

    days = [dt.date(2026, 10, 5), dt.date(2026, 10, 28)]
    assert [row["collected_on"] for row in day_first] == days
    assert [row["collected_on"] for row in month_first] == days
    assert [row["collected_on"] for row in alone] == days[:1]


def test_excel_dates_and_numbers_are_taken_as_stored(desk: Any, basin: None, workbook: Any) -> None:
    head = ["population", "collected on", "ripening year", "amount", "germination", "notes"]
    content = workbook(
        head,
        ["P-1", dt.date(2026, 10, 28), 2026, 1250.5, 0.85, 101],
        ["P-1", 46322, 2026.0, "1250,25", 85, 1.5],
    )

    first, second = values(desk, "lots", content)

    assert first["collected_on"] == dt.date(2026, 10, 28)
    assert second["collected_on"] == dt.date(2026, 10, 27)
    assert (first["amount_mg"], second["amount_mg"]) == (1_250_500, 1_250_250)
    assert (first["germination"], second["germination"]) == (0.85, 0.85)
    assert (first["notes"], second["notes"]) == ("101", "1.5")


def test_the_whole_of_a_latin_1_file_with_blank_lines_and_semicolons(desk: Any) -> None:
    content = "Código;Nome;Espécie;Latitude;Longitude\r\n\r\nP-9;São João;sobreiro;38,3;-8,3\r\n;;;;\r\n"

    assert values(desk, "populations", content.encode("latin-1")) == [
        {"code": "P-9", "name": "São João", "species": "quercus-suber", "latitude": 38.3, "longitude": -8.3}
    ]


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [
        ("38.5", "-8.25"),
        ("38,5", "-8,25"),
        ("38° 30' N", "8° 15' W"),
        ("N 38º30'00\"", "8º 15′ 0″ O"),
        ("38.5 N", "8.25W"),
    ],
)
def test_coordinates_are_understood_however_written(desk: Any, latitude: str, longitude: str) -> None:
    row = values(desk, "sites", f"code;name;latitude;longitude\nA;A;{latitude};{longitude}\n".replace('"', "''"))[
        0
    ]

    assert (row["latitude"], row["longitude"]) == (38.5, -8.25)


@pytest.mark.parametrize(
    "written", ["1/11", "01/11", "01.11.", "1 Nov", "1 de novembro", "noviembre 1"]
)  # fmt: skip
def test_days_of_the_year_are_understood_however_written(desk: Any, written: str) -> None:
    content = f"code;name;latitude;longitude;planting opens\nA;A;38;-8;{written}\n"

    assert values(desk, "sites", content)[0]["window_opens"] == "11-01"


@pytest.mark.parametrize("written", ["2027", "2027/28", "2027-28", "2027/2028"])
def test_seasons_are_understood_however_written(desk: Any, basin: None, written: str) -> None:
    row = values(desk, "targets", f"site,species,season,plants\nS-1,Quercus ilex,{written},100\n")[0]

    assert (row["season"], row["basis"], row["plants"]) == (2027, "plants", 100)


def refused(cells: dict[str, str]) -> str:
    """A populations file with one row, its cells replaced."""
    row = {"code": "P-9", "name": "Serra", "species": "Quercus suber", "latitude": "38.3", "longitude": "-8.3"}
    row |= cells
    return ";".join(row) + "\n" + ";".join(row.values()) + "\n"


@pytest.mark.parametrize(
    ("cells", "column", "reason"),
    [
        ({"code": ""}, "code", "Code is missing. A new record needs it."),
        ({"name": ""}, "name", "Name is missing. A new record needs it."),
        ({"latitude": "north"}, "latitude", "“north” is no coordinate."),
        ({"latitude": "38.3 W"}, "latitude", "“38.3 W” belongs in the other column"),
        ({"latitude": "138.3"}, "latitude", "138.3 is off the globe as a latitude. Latitude and longitude"),
        ({"longitude": "-198.3"}, "longitude", "-198.3 is out of range. Give a number from -180 to 180."),
        ({"elevation": "24000"}, "elevation", "24,000 is out of range. Give a number from -450 to 9,000."),
        ({"fruiting plants": "-3"}, "fruiting plants", "-3 is out of range."),
        ({"fruiting plants": "3.5"}, "fruiting plants", "“3.5” is not a whole number."),
        ({"fruiting plants": "many"}, "fruiting plants", "“many” is not a number."),
        ({"status": "wild"}, "status", "“wild” is none of the words expected here. Write one of: autochthonous,"),
        ({"basin": "x" * 81}, "basin", "The text has 81 characters; at most 80 fit. Shorten it."),
        ({"species": "Quercus subber"}, "species", "“Quercus subber” is no species of the catalogue. Did"),
        ({"species": "zzzz"}, "species", "“zzzz” is no species of the catalogue. Type a scientific"),
        ({"basin": "#REF!"}, "basin", "The cell holds an error of the spreadsheet."),
    ],
)  # fmt: skip
def test_a_bad_cell_is_refused_with_row_column_value_and_reason(
    desk: Any, cells: dict[str, str], column: str, reason: str
) -> None:
    ((row, named, value, said),) = desk.reasons("populations", refused(cells))

    assert (row, named) == (2, column)
    assert value == cells[column] if len(cells[column]) < 50 else value.startswith("xxx")
    assert said[: len(reason)] == reason


def test_swapped_coordinates_are_noticed_by_the_other_records(desk: Any, basin: None) -> None:
    ((row, column, value, reason),) = desk.reasons(
        "populations", refused({"latitude": "-8.3", "longitude": "38.3"})
    )

    assert (row, column, value) == (2, "latitude", "-8.3")
    assert "Latitude and longitude look swapped: latitude comes first." in reason


def test_swapped_coordinates_are_noticed_by_the_other_rows_of_a_first_file(desk: Any) -> None:
    rows = "".join(f"P-{n},Name,Quercus suber,38.{n},-8.{n}\n" for n in range(1, 8))

    ((row, column, value, _reason),) = desk.reasons(
        "populations", f"{HEAD}\n{rows}P-9,Foz,Quercus suber,-8.3,38.3\n"
    )

    assert (row, column, value) == (9, "latitude", "-8.3")


def test_a_whole_file_of_swapped_coordinates_can_be_put_right_by_a_second_one(desk: Any) -> None:
    desk.bring("populations", "".join([f"{HEAD}\n", *(f"P-{n},Name,Quercus suber,-8.{n},38.{n}\n" for n in "12")]))

    assert desk.reasons("populations", f"{HEAD}\nP-1,Name,Quercus suber,38.1,-8.1\n") == []


def test_a_row_with_too_many_cells_is_refused(desk: Any) -> None:
    ((row, _column, _value, reason),) = desk.reasons("populations", f"{HEAD}\n{ROW},7\n")

    assert (row, reason[:46]) == (2, "This row has more cells than there are heading")


def test_the_second_row_about_a_record_is_refused(desk: Any) -> None:
    found = desk.reasons("populations", f"{HEAD}\n{ROW}\n\n{ROW.lower()}\n")

    assert [(row, reason) for row, _c, _v, reason in found] == [
        (4, "Row 2 is about the same record. Keep one of them.")
    ]


def test_an_archived_record_is_not_written_over(desk: Any, basin: None, session: Session) -> None:
    session.scalars(select(Population).where(Population.code == "P-1")).one().archived_at = dt.datetime.now(dt.UTC)
    session.flush()

    found = desk.reasons("populations", f"{HEAD}\nP-1,Vale,Quercus ilex,38.1,-8.1\n")

    assert [reason for *_rest, reason in found] == [
        "This record is archived. Bring it back first, or leave the row out."
    ]


def test_every_reason_of_a_row_is_told_at_once(desk: Any) -> None:
    found = desk.reasons("populations", refused({"latitude": "x", "species": "y", "elevation": "z"}))

    assert [column for _row, column, _value, _reason in found] == ["species", "latitude", "elevation"]


def test_an_unknown_kind_is_not_found(desk: Any) -> None:
    with pytest.raises(NotFound):
        desk.look("gardens", "code\n1\n")


def test_a_file_that_cannot_be_read_is_refused(desk: Any) -> None:
    with pytest.raises(Invalid) as caught:
        desk.look("populations", b"PK\x03\x04 cut short")

    assert list(caught.value.errors) == ["file"]


def test_a_heading_without_rows_gives_an_empty_preview(desk: Any, session: Session) -> None:
    found = desk.look("populations", HEAD)

    assert (found.rows, found.new, found.findings) == (0, 0, ())
    assert session.scalar(select(func.count()).select_from(Site)) == 0
