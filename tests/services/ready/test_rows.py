"""Sums agree whichever way the stock is grouped."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict

from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.growing.words import Stage
from nursery.services.ready.query import WITH_WANTS, By, ReadyQuery
from nursery.services.ready.reading import EverySeason
from nursery.services.ready.rows import ADDED, Origin, Stock, Want, ranged
from nursery.services.ready.season import ReadySeason
from nursery.services.ready.week_rows import When, species_weeks
from tests.conftest import TODAY

NAMES = {1: "Alnus glutinosa", 2: "Quercus suber", 3: "Salix alba"}
SITES = {None: "", 1: "North bank", 2: "South bank"}


@st.composite
def some_stock(draw: st.DrawFn) -> Stock:
    expected = draw(st.integers(0, 400))
    low, high = draw(st.integers(0, expected)), expected + draw(st.integers(0, 90))
    allocated = draw(st.integers(0, expected))
    species, site = draw(st.sampled_from(list(NAMES))), draw(st.sampled_from(list(SITES)))
    batch = draw(st.integers(1, 4))
    return Stock(
        batch_id=batch, code=f"B-{batch}", species_id=species, species_name=NAMES[species],
        container_name=draw(st.sampled_from(["", "Tray 40", "Tray 54"])),
        grade=draw(st.sampled_from(["", "1", "2"])),
        origin=draw(st.sampled_from([Origin(), Origin(("Ford",), ("R1",)), Origin(("Ford", "Mill"), ())])),
        nursery_name="Yard", site_id=site, site_name=SITES[site], stage=draw(st.sampled_from(list(Stage))),
        ready_on=draw(st.none() | st.dates(dt.date(2026, 6, 1), dt.date(2027, 12, 1))),
        ready=draw(st.integers(0, expected)), expected=expected, low=low, high=high, allocated=allocated,
        held=draw(st.sampled_from([0, expected - allocated])),
    )  # fmt: skip


@st.composite
def some_want(draw: st.DrawFn) -> Want:
    wanted = draw(st.integers(0, 500))
    sent = draw(st.integers(0, 600))
    to_sow = draw(st.integers(0, max(wanted - sent, 0)))
    covered = draw(st.integers(0, max(wanted - sent - to_sow, 0)))
    species, site = draw(st.sampled_from(list(NAMES))), draw(st.sampled_from([1, 2]))
    return Want(
        target_id=draw(st.integers(1, 9)), species_id=species, species_name=NAMES[species], site_id=site,
        site_name=SITES[site], nursery_name="Yard", container_name=draw(st.sampled_from(["", "Tray 40"])),
        wanted=wanted, sent=sent, covered=covered, to_sow=to_sow,
        opens_on=draw(st.sampled_from([dt.date(2026, 10, 25), dt.date(2026, 12, 1)])),
        closes_on=draw(st.sampled_from([dt.date(2027, 2, 10), dt.date(2027, 3, 20)])),
    )  # fmt: skip


def season(stock: list[Stock], wants: list[Want]) -> ReadySeason:
    return ReadySeason(2026, ReadyQuery(), TODAY, stock, wants, EverySeason({2026: stock}, {2026: wants}))


@given(st.lists(some_stock(), max_size=8), st.lists(some_want(), max_size=6))
def test_sums_over_any_grouping_are_those_of_the_whole(stock: list[Stock], wants: list[Want]) -> None:
    found = season(stock, wants)
    total = asdict(found.total)
    asked = {"wanted", "sent", "to_sow", "short"}
    for by in By:
        groups = found.groups(by)
        for name in ADDED:
            together = sum(getattr(group.numbers, name) for group in groups)
            assert together == (0 if by not in WITH_WANTS and name in asked else total[name]), (by, name)
        assert all(group.stock or group.wants for group in groups)


@given(st.lists(some_stock(), max_size=8), st.lists(some_want(), max_size=6))
def test_what_is_expected_is_allocated_held_or_free(stock: list[Stock], wants: list[Want]) -> None:
    total = season(stock, wants).total
    assert total.expected == total.allocated + total.held + total.free
    assert 0 <= total.free_now <= total.free
    assert total.low <= total.expected <= total.high


@given(st.lists(some_want(), max_size=6))
def test_what_is_asked_for_is_sent_covered_to_be_sown_or_short(wants: list[Want]) -> None:
    for want in wants:
        sent = min(want.sent, want.wanted)
        assert want.wanted == sent + want.covered + want.to_sow + want.short


@given(st.lists(some_stock(), min_size=1, max_size=8))
def test_ranges_of_one_species_add_up_and_those_of_several_are_narrower(stock: list[Stock]) -> None:
    low, high = ranged(stock)
    added = sum(one.low for one in stock), sum(one.high for one in stock)
    if len({one.species_id for one in stock}) == 1:
        assert (low, high) == added
    else:
        assert added[0] <= low <= high <= added[1]


@given(st.lists(some_stock(), max_size=8), st.lists(some_want(), max_size=6))
def test_the_weeks_together_hold_all_that_is_expected(stock: list[Stock], wants: list[Want]) -> None:
    rows = season(stock, wants).weeks
    expected = sum(one.expected for one in stock)
    assert sum(row.gain for row in rows) == rows[-1].by_then == expected
    assert all(sum(plants for _name, plants in row.species) == row.gain for row in rows)
    last = {one.species_name: one.by_then for one in species_weeks(rows)}
    assert last == {
        name: plants for name in NAMES.values()
        if (plants := sum(one.expected for one in stock if one.species_name == name))
    }  # fmt: skip
    weeks = [row.week for row in rows if row.when is When.WEEK]
    assert weeks == [weeks[0].plus(number) for number in range(len(weeks))]
    assert [row.by_then for row in rows] == sorted(row.by_then for row in rows)
    assert rows[-1].asked == sum(want.wanted - min(want.sent, want.wanted) for want in wants)
