"""Reasons to refuse a lot, a site or a target that need more than one cell or another record."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Target
from nursery.services.codes import lot_code


def one_row(defaults: dict[str, str], cells: dict[str, str]) -> str:
    row = {key: value for key, value in (defaults | cells).items() if value is not None}
    return ";".join(row) + "\n" + ";".join(row.values()) + "\n"


LOT = {"population": "P-1", "collected on": "2026-10-28", "ripening year": "2026", "amount": "100"}
TARGET = {"site": "S-1", "species": "Quercus ilex", "season": "2027/28", "plants": "100"}


@pytest.mark.parametrize(
    ("cells", "column", "reason"),
    [
        ({"population": "P-11"}, "population", "There is no “P-11” on record. Did you mean P-1"),
        (
            {"population": "zzz"},
            "population",
            "There is no “zzz” on record. Correct it, or write that",
        ),
        ({"species": "Quercus suber"}, "species", "Population P-1 is of another species."),
        ({"collected on": "2026-12-01"}, "collected on", "The lot would be collected in the future."),
        ({"ripening year": "2027"}, "ripening year", "Seed that ripened in 2027 was not collected on 28 Oct 2026"),
        ({"ripening year": "2020"}, "ripening year", "Seed that ripened in 2020 was not collected on 28 Oct 2026"),
        ({"tested on": "2026-10-01"}, "tested on", "The test would be before the collection on 28 Oct 2026."),
        ({"tested on": "2027-10-01"}, "tested on", "The test would lie in the future."),
        ({"amount": "-5"}, "amount", "-5 is out of range."),
        ({"amount": ""}, "amount", "A new lot needs an amount: grams of clean seed, or pieces."),
        ({"pieces": "10"}, "pieces", "Give grams or pieces, not both."),
        ({"material": "cuttings"}, "amount", "Cuttings are counted. Give the amount in pieces."),
        ({"germination": "850"}, "germination", "“850” is not a fraction."),
        ({"purity": "0"}, "purity", "0 is out of range. Give a number above 0, up to 100."),
        ({"moisture": "100"}, "moisture", "100 is out of range. Give a number above 0 and below 100."),
        ({"tsw": "0"}, "tsw", "0 is out of range."),
        ({"mother plants": "0"}, "mother plants", "0 is out of range."),
        ({"collected on": "2026-02-30"}, "collected on", "“2026-02-30” is not a date."),
        ({"collected on": "soon"}, "collected on", "“soon” is not a date."),
        ({"trip": "T-1"}, "trip", "There is no “T-1” on record."),
        ({"storage place": "cellar"}, "storage place", "There is no “cellar” on record."),
    ],
)
def test_a_bad_lot_is_refused(desk: Any, basin: None, cells: dict[str, str], column: str, reason: str) -> None:
    ((row, named, _value, said),) = desk.reasons("lots", one_row(LOT, cells))

    assert (row, named, said[: len(reason)]) == (2, column, reason)


def test_a_lot_code_with_a_wrong_check_character_is_refused(desk: Any, basin: None) -> None:
    sound = lot_code("Quercus ilex", 2026, 5)
    wrong = sound[:-1] + ("A" if sound[-1] != "A" else "C")

    ((row, column, value, reason),) = desk.reasons("lots", one_row(LOT, {"code": wrong}))

    assert (row, column, value) == (2, "code", wrong)
    assert reason.startswith(f"The check character of “{wrong}” does not fit")
    assert desk.look("lots", one_row(LOT, {"code": sound})).new == 1


def test_a_lot_agrees_with_its_trip(desk: Any, basin: None, maker: Any) -> None:
    trip = maker.trip()

    ((_row, column, _value, reason),) = desk.reasons("lots", one_row(LOT, {"trip": trip.code}))

    assert (column, reason) == (
        "collected on",
        f"The trip {trip.code} was on 20 Oct 2026. Correct the day or the trip.",
    )


def test_nameless_rows_that_nothing_tells_apart_are_refused(desk: Any, basin: None) -> None:
    rows = "code;population;collected on;ripening year;amount\nA;P-1;2026-10-28;2026;1\n;P-1;2026-10-28;2026;2\n"

    ((row, _column, _value, reason),) = desk.reasons("lots", rows)

    assert (row, reason) == (
        3,
        "Another row has the same species, population, year and day. Give each lot its code.",
    )


def test_a_nameless_row_that_fits_two_lots_is_refused(desk: Any, basin: None) -> None:
    head = "code;population;collected on;ripening year;amount\n"
    desk.bring("lots", head + "A;P-1;2026-10-28;2026;1\nB;P-1;2026-10-28;2026;1\n")

    ((_row, _column, _value, reason),) = desk.reasons("lots", head + ";P-1;2026-10-28;2026;1\n")

    assert reason == "More than one record fits this row. Give its code."


def test_a_lot_keeps_its_unit(desk: Any, basin: None) -> None:
    desk.bring("lots", one_row(LOT, {"code": "A"}))

    ((_row, column, _value, reason),) = desk.reasons("lots", "code;pieces\nA;20\n")

    assert (column, reason) == ("pieces", "This lot is kept in grams. Give its amount in grams.")


def test_a_population_with_lots_keeps_its_species(desk: Any, basin: None) -> None:
    desk.bring("lots", one_row(LOT, {}))

    ((_row, column, _value, reason),) = desk.reasons("populations", "code;species\nP-1;Quercus suber\n")

    assert (column, reason[:47]) == ("species", "This population has lots of another species, so")
    assert desk.look("populations", "code;species\nP-2;Quercus suber\n").changed == 1


@pytest.mark.parametrize(
    ("cells", "column", "reason"),
    [
        ({"site": "S-11"}, "site", "There is no “S-11” on record. Did you mean S-1"),
        ({"season": "2027/29"}, "season", "“2027/29” is no season. Write 2027/28, or its first year."),
        ({"season": "2025/26"}, "season", "The season 2025/26 is over: no plan can reach it any more."),
        ({"season": "1850"}, "season", "The year 1850 is out of range."),
        ({"plants": ""}, "plants", "Say how many are wanted"),
        ({"plants": "0"}, "plants", "0 is out of range."),
        (
            {"plants per hectare": "1000", "share": "1"},
            "plants",
            "Give plants, or plants per hectare with a share",
        ),
        ({"plants": "", "plants per hectare": "1000"}, "share", "A density needs the share of the mix"),
        ({"plants": "", "share": "20 %"}, "plants per hectare", "A density needs plants per hectare."),
        ({"survival year": "2"}, "survival year", "Survivors are wanted at year 1 or 3."),
        ({"basis": "plants", "survival year": "3"}, "survival year", "A survival year goes with the basis"),
        ({"basis": "survivors"}, "survival year", "Survivors are wanted at year 1 or 3."),
        ({"assurance": "100 %"}, "assurance", "100 is out of range. Give a number above 0 and below 100."),
        ({"priority": "6"}, "priority", "6 is out of range."),
        ({"plant on": "2029-11-20"}, "plant on", "20 Nov 2029 is not in the season 2027/28."),
        ({"protocol": "magic"}, "protocol", "Quercus ilex has no protocol “magic”. Write one of: "),
        ({"container": "Tray"}, "container", "There is no “Tray” on record."),
    ],
)
def test_a_bad_target_is_refused(desk: Any, basin: None, cells: dict[str, str], column: str, reason: str) -> None:
    found = desk.reasons("targets", one_row(TARGET, cells))

    named = [(row, name, said[: len(reason)]) for row, name, _value, said in found]
    if column == "plants per hectare":  # the column is not in this file, so its label stands for it
        column = "Plants per hectare"
    if column in {"share", "survival year"} and column not in cells:
        column = {"share": "Share of the mix", "survival year": "Survival year"}[column]
    assert (2, column, reason) in named


@pytest.mark.parametrize("written", ["presprouted", "Acorns pre-sprouted and set one to a cell"])
def test_a_protocol_is_known_by_its_key_and_by_its_name(
    desk: Any, basin: None, session: Session, written: str
) -> None:
    desk.bring("targets", one_row(TARGET, {"protocol": written}))

    assert session.scalars(select(Target.protocol)).one() == "presprouted"


def test_a_density_needs_the_area_of_the_site(desk: Any, basin: None) -> None:
    cells = {"site": "S-2", "plants": "", "plants per hectare": "1000", "share": "100 %"}

    ((_row, column, value, reason),) = desk.reasons("targets", one_row(TARGET, cells))

    assert (column, value) == ("site", "S-2")
    assert reason == "Site S-2 has no area, which a density needs. Give it one."


def test_a_container_of_two_nurseries_is_named_with_its_nursery(desk: Any, basin: None, session: Session) -> None:
    from nursery.models import Container, Nursery

    for name in ("Horta", "Quinta"):
        nursery = Nursery(name=name, latitude=38.0, longitude=-8.0)
        session.add(nursery)
        session.flush()
        session.add(Container(nursery_id=nursery.id, name="Tray 40", cells_per_tray=40, cell_volume_cm3=300.0))
    session.flush()

    ((_row, _column, _value, reason),) = desk.reasons("targets", one_row(TARGET, {"container": "tray 40"}))

    assert reason == "“tray 40” means more than one container type. Write “nursery / name”."
    assert desk.look("targets", one_row(TARGET, {"container": "Quinta / Tray 40"})).new == 1


@pytest.mark.parametrize("day", ["02-29", "29/2", "13-13", "1 Smarch", "soon"])
def test_a_planting_day_that_not_every_year_has_is_refused(desk: Any, day: str) -> None:
    ((_row, column, _value, reason),) = desk.reasons(
        "sites", f"code;name;latitude;longitude;planting opens\nA;A;38;-8;{day}\n"
    )

    assert column == "planting opens"
    assert reason.startswith(f"“{day}” is no day of every year.")
