"""What a permit says to a collection: species, date, place, amount; each in words."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.models import Permit, PermitLine
from nursery.models.permits import AreaKind
from nursery.services.permits.accounts import place_of
from nursery.services.permits.covering import Book, Check, Coverage, line_of
from nursery.services.permits.takings import Taking

SQUARE = {"type": "Polygon", "coordinates": [[[-8, 40], [-7, 40], [-7, 41], [-8, 41], [-8, 40]]]}


def taking(**values: Any) -> Taking:
    defaults: dict[str, Any] = {
        "lot_id": 1, "lot_code": "L/1", "permit_id": None, "permit_number": "", "species_id": 1,
        "species_name": "Quercus suber", "collected_on": dt.date(2026, 10, 20), "reported_on": None,
        "milligrams": 2_000_000, "pieces": 0, "population_code": "P-001", "region_code": "RP-3",
        "basin": "Ribeira Clara", "latitude": 40.5, "longitude": -7.5, "is_held": False, "released_at": None,
        "released_by": "", "release_reason": "", "archived_at": None,
    }  # fmt: skip
    return Taking(**{**defaults, **values})


def permit(*lines: dict[str, Any], number: int = 1, **values: Any) -> Permit:
    made = Permit(
        id=number, number=f"COL/{number}", authority="River Council",
        **{"valid_from": dt.date(2026, 1, 1), "valid_to": dt.date(2026, 12, 31), **values},
    )  # fmt: skip
    made.lines = [
        PermitLine(
            id=10 * number + at, permit_id=number,
            **{"species_id": 1, "area_kind": AreaKind.ANYWHERE, "places": "", **line},
        )
        for at, line in enumerate(lines)
    ]  # fmt: skip
    return made


def texts(coverage: Coverage) -> dict[Check, tuple[bool, str]]:
    return {answer.check: (answer.holds, answer.text) for answer in coverage.answers}


def test_a_covered_lot_is_told_what_holds_and_what_is_left() -> None:
    coverage = Book([permit({"cap_mg": 10_000_000})]).find(taking())

    assert coverage.is_covered
    assert texts(coverage) == {
        Check.SPECIES: (True, "Quercus suber is in the permit."),
        Check.DATE: (True, "Collected on 20 Oct 2026, within 1 Jan 2026 to 31 Dec 2026."),
        Check.PLACE: (True, "The permit holds everywhere."),
        Check.AMOUNT: (True, "With this lot 2 kg are collected of the 10 kg allowed; 8 kg are left."),
    }
    assert coverage.sentence == (
        "Covered by permit COL/1. With this lot 2 kg are collected of the 10 kg allowed; 8 kg are left."
    )


@pytest.mark.parametrize(
    ("line", "lot", "missing"),
    [
        ({"species_id": 2}, {"permit_number": "col/1"}, [(Check.SPECIES, "Quercus suber is not in the permit.")]),
        (
            {},
            {"collected_on": dt.date(2025, 12, 31)},
            [(Check.DATE, "Collected on 31 Dec 2025, before the permit begins on 1 Jan 2026.")],
        ),
        (
            {},
            {"collected_on": dt.date(2027, 1, 1)},
            [(Check.DATE, "Collected on 1 Jan 2027, after the permit ended on 31 Dec 2026.")],
        ),
        (
            {"area_kind": AreaKind.PLACES, "places": "RP-4; Serra Alta"},
            {},
            [(Check.PLACE, "Population P-001 is in none of the named places (RP-4; Serra Alta).")],
        ),
        (
            {"area_kind": AreaKind.POLYGON, "polygon": SQUARE},
            {"longitude": -6.9},
            [(Check.PLACE, "Population P-001 lies outside the area of the permit.")],
        ),
        (
            {"cap_mg": 1_500_000},
            {},
            [(Check.AMOUNT, "With this lot 2 kg are collected of the 1.5 kg allowed, 500 g too much.")],
        ),
        (
            {"cap_pieces": 500},
            {},
            [
                (
                    Check.AMOUNT,
                    "The permit counts pieces, but the lot is weighed: whether it is within cannot be told.",
                )
            ],
        ),
        (
            {"cap_mg": 500},
            {"milligrams": 0, "pieces": 4},
            [
                (
                    Check.AMOUNT,
                    "The permit caps a weight, but the lot is counted: whether it is within cannot be told.",
                )
            ],
        ),
    ],
)
def test_each_check_that_fails_says_why(
    line: dict[str, Any], lot: dict[str, Any], missing: list[tuple[Check, str]]
) -> None:
    coverage = Book([permit(line)]).find(taking(**lot))

    assert not coverage.is_covered
    assert [(answer.check, answer.text) for answer in coverage.missing] == missing


@pytest.mark.parametrize("places", ["ribeira clara", "RP-9; RP-3", "P-001"])
def test_a_place_is_named_by_basin_region_or_population(places: str) -> None:
    line = {"area_kind": AreaKind.PLACES, "places": places}

    assert Book([permit(line)]).find(taking()).is_covered


def test_without_a_number_the_permit_that_covers_is_found() -> None:
    spent = permit({"cap_mg": 1_000_000}, number=1)
    elsewhere = permit({"area_kind": AreaKind.PLACES, "places": "RP-4"}, number=2)
    fits = permit({"cap_mg": 5_000_000}, number=3)

    coverage = Book([spent, elsewhere, fits]).find(taking())

    assert (coverage.permit, coverage.is_covered) == (fits, True)


def test_a_named_permit_is_asked_even_where_another_would_cover() -> None:
    spent, fits = permit({"cap_mg": 1_000_000}, number=1), permit({}, number=2)

    coverage = Book([spent, fits]).find(taking(permit_number="COL/1"))

    assert (coverage.permit, coverage.is_covered) == (spent, False)


def test_a_number_that_is_not_on_record_is_told_with_the_one_that_would_cover() -> None:
    coverage = Book([permit({})]).find(taking(permit_number="X 7"))

    assert coverage.sentence == (
        "No permit covers this lot. No permit with the number “X 7” is written down."
        " Permit COL/1 would cover it: give its number."
    )


def test_a_species_in_no_permit_is_told() -> None:
    coverage = Book([permit({"species_id": 2})]).find(taking())

    assert coverage.sentence == "No permit covers this lot. No permit on record names Quercus suber."


def test_a_lot_counts_under_the_narrowest_line_that_fits() -> None:
    lines = permit(
        {"cap_mg": 1},
        {"cap_mg": 2, "area_kind": AreaKind.PLACES, "places": "RP-3"},
        {"cap_mg": 3, "area_kind": AreaKind.POLYGON, "polygon": SQUARE},
        {"cap_pieces": 4},
    ).lines

    def cap(**values: Any) -> tuple[int | None, int | None]:
        line = line_of(lines, taking(**values))
        assert line is not None
        return line.cap_mg, line.cap_pieces

    assert cap() == (3, None)
    assert cap(latitude=10.0) == (2, None)
    assert cap(latitude=10.0, region_code="RP-4") == (1, None)
    assert cap(latitude=10.0, region_code="RP-4", milligrams=0, pieces=9) == (None, 4)
    assert line_of(lines, taking(species_id=2)) is None


LOTS = st.lists(
    st.builds(
        lambda milligrams, pieces, region, day, named: {
            "milligrams": milligrams, "pieces": pieces, "region_code": region,
            "collected_on": dt.date(2025, 12, 30) + dt.timedelta(days=day),
            "permit_number": "COL/1" if named else "",
        },
        st.integers(0, 900), st.integers(0, 30), st.sampled_from(["RP-3", "RP-4"]), st.integers(0, 369),
        st.booleans(),
    ).filter(lambda lot: lot["milligrams"] or lot["pieces"]),
    max_size=12,
)  # fmt: skip
LINES = st.lists(
    st.one_of(
        st.builds(lambda cap: {"cap_mg": cap}, st.integers(1, 2500)),
        st.builds(lambda cap: {"cap_pieces": cap}, st.integers(1, 60)),
        st.builds(
            lambda cap: {"cap_mg": cap, "area_kind": AreaKind.PLACES, "places": "RP-3"}, st.integers(1, 2500)
        ),
    ),
    min_size=1,
    max_size=3,
)


def record(book: Book, lots: list[Taking]) -> dict[int, Coverage]:
    """Write lots down one after the other, as the check does."""
    found = {}
    for lot in lots:
        coverage = found[lot.lot_id] = book.find(lot)
        counts = coverage.permit is not None and (lot.permit_number or coverage.is_covered)
        permit_id = coverage.permit.id if counts and coverage.permit else None
        number = coverage.permit.number if permit_id and coverage.permit else lot.permit_number
        book.note(replace(lot, permit_id=permit_id, permit_number=number))
    return found


@given(lots=LOTS, lines=LINES, data=st.data())
def test_lots_that_are_checked_again_in_whatever_order_get_the_answer_that_they_got_when_collected(
    lots: list[dict[str, Any]], lines: list[dict[str, Any]], data: st.DataObject
) -> None:
    takings = [taking(lot_id=number, **lot) for number, lot in enumerate(lots, 1)]
    one = permit(*lines)
    book = Book([one])
    at_collection = record(book, sorted(takings, key=place_of))

    again = record(book, data.draw(st.permutations(takings)))

    assert {lot_id: coverage.is_covered for lot_id, coverage in again.items()} == {
        lot_id: coverage.is_covered for lot_id, coverage in at_collection.items()
    }
    for line in one.lines:
        under = [lot for lot in sorted(takings, key=place_of) if line_of(one.lines, lot) is line]
        covered = [lot for lot in under if at_collection[lot.lot_id].is_covered]
        if line.cap_mg is not None:
            assert sum(lot.milligrams for lot in covered) <= line.cap_mg
        else:
            assert sum(lot.pieces for lot in covered) <= (line.cap_pieces or 0)


NAMED = st.lists(st.tuples(st.integers(1, 900), st.integers(0, 20)), min_size=1, max_size=10)


@given(lots=NAMED, cap=st.integers(1, 2500), data=st.data())
def test_lots_up_to_the_cap_are_covered_and_none_beyond_it_however_they_are_written_down(
    lots: list[tuple[int, int]], cap: int, data: st.DataObject
) -> None:
    day = dt.date(2026, 10, 1)
    takings = [
        taking(lot_id=number, milligrams=amount, collected_on=day + dt.timedelta(days=days), permit_number="COL/1")
        for number, (amount, days) in enumerate(lots, 1)
    ]
    one = permit({"cap_mg": cap})
    book = Book([one])
    record(book, data.draw(st.permutations(takings)))

    collected = 0
    for lot in sorted(takings, key=place_of):
        collected += lot.milligrams
        assert book.find(lot).is_covered == (collected <= cap)
    assert book.accounts(one)[10].milligrams == collected


@given(lots=NAMED, cap=st.integers(1, 2500), more=st.integers(1, 5000))
def test_a_later_lot_never_changes_the_answer_to_an_earlier_one(
    lots: list[tuple[int, int]], cap: int, more: int
) -> None:
    day = dt.date(2026, 10, 1)
    takings = [
        taking(lot_id=number, milligrams=amount, collected_on=day + dt.timedelta(days=days), permit_number="COL/1")
        for number, (amount, days) in enumerate(lots, 1)
    ]
    book = Book([permit({"cap_mg": cap})])
    record(book, takings)
    before = {lot.lot_id: book.find(lot).is_covered for lot in takings}

    record(book, [taking(lot_id=99, milligrams=more, collected_on=dt.date(2026, 11, 1), permit_number="COL/1")])

    assert {lot.lot_id: book.find(lot).is_covered for lot in takings} == before


def test_an_earlier_lot_is_told_what_later_ones_took() -> None:
    book = Book([permit({"cap_mg": 5_000_000})])
    later = taking(lot_id=2, collected_on=dt.date(2026, 10, 21)).under(1)
    book.note(later)

    assert texts(book.find(taking()))[Check.AMOUNT] == (
        True, "With this lot 2 kg were collected of the 5 kg allowed; later lots took 2 kg.",
    )  # fmt: skip
    book.note(taking(lot_id=3, collected_on=dt.date(2026, 10, 21)).under(1))
    assert texts(book.find(taking()))[Check.AMOUNT] == (
        True, "With this lot 2 kg were collected of the 5 kg allowed; later lots took 4 kg, 1 kg too much.",
    )  # fmt: skip


def test_what_is_only_planned_comes_after_all_that_was_collected() -> None:
    book = Book([permit({"cap_mg": 3_000_000})])
    book.note(taking(lot_id=2, collected_on=dt.date(2026, 12, 1)).under(1))

    assert book.find(taking()).is_covered
    assert not book.find(taking(lot_id=-1, is_planned=True)).is_covered


@given(lots=LOTS, lines=LINES)
def test_covered_means_that_each_single_check_holds(
    lots: list[dict[str, Any]], lines: list[dict[str, Any]]
) -> None:
    takings = [taking(lot_id=number, **lot) for number, lot in enumerate(lots, 1)]

    for number, coverage in record(Book([permit(*lines)]), takings).items():
        lot = takings[number - 1]
        checks = {answer.check: answer.holds for answer in coverage.answers}
        assert coverage.is_covered == (len(checks) == 4 and all(checks.values()))
        if coverage.is_covered:
            assert coverage.line is not None
            assert dt.date(2026, 1, 1) <= lot.collected_on <= dt.date(2026, 12, 31)
            assert coverage.line.area_kind is AreaKind.ANYWHERE or lot.region_code == "RP-3"


@given(lots=LOTS, lines=LINES, data=st.data())
def test_the_order_of_lots_changes_no_sum(
    lots: list[dict[str, Any]], lines: list[dict[str, Any]], data: st.DataObject
) -> None:
    takings = [taking(lot_id=number, **lot).under(1) for number, lot in enumerate(lots, 1)]
    one = permit(*lines)

    def sums(order: list[Taking]) -> Any:
        book = Book([one])
        book.accounts(one)  # from here on the sums are kept as lots come and go
        for lot in order:
            book.note(lot)
            book.note(lot)  # noted twice, counted once
        return book.accounts(one)

    first = sums(takings)
    assert sums(data.draw(st.permutations(takings))) == first
    afresh = Book([one])
    for lot in takings:
        afresh.takings[1][lot.lot_id] = lot
    assert afresh.accounts(one) == first


def test_cuttings_beyond_every_cap_are_answered_by_the_permit_that_counts_pieces() -> None:
    fruit, cuttings = permit({"cap_mg": 600_000}), permit({"cap_pieces": 700}, number=2)

    coverage = Book([fruit, cuttings]).find(taking(milligrams=0, pieces=1_280))

    assert coverage.permit is cuttings
    assert texts(coverage)[Check.AMOUNT] == (
        False,
        "With this lot 1,280 pieces are collected of the 700 pieces allowed, 580 pieces too much.",
    )
