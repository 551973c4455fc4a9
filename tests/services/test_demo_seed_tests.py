"""The demo shows every state that seed can be in, on any day of the year."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, SeedTest, StoragePlace
from nursery.models.seed_tests import TestKind
from nursery.services.planning.gather import gather
from nursery.services.seed_tests import list_tests, rulings
from nursery.services.watching import watch_lots

LoadedOn = Callable[[dt.date], Session]
DAYS = [dt.date(2026, 11, 25), dt.date(2027, 2, 28), dt.date(2027, 6, 15), dt.date(2027, 9, 10)]


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_seed_is_past_its_best_refused_misplaced_and_due(loaded_on: LoadedOn, day: dt.date) -> None:
    session = loaded_on(day)

    found = Counter(each.reason.value for each in watch_lots(session, today=day))

    assert found["misplaced"] == found["repeat"] == 1
    assert min(found["past"], found["retest"]) >= 1


def test_lots_have_the_figures_of_the_tests_that_rule_them(loaded_on: LoadedOn, today: dt.date) -> None:
    session = loaded_on(today)

    lots = session.scalars(select(Lot).join(SeedTest, SeedTest.lot_id == Lot.id).distinct()).all()
    wrong = [
        (lot.code, column)
        for lot in lots
        for column, test in rulings(list_tests(session, lot)).items()
        if test is not None and getattr(lot, column) != test.result
    ]

    assert len(lots) > 60
    assert wrong == []


def test_one_lot_has_passed_a_test_of_every_kind(loaded_on: LoadedOn, today: dt.date) -> None:
    session = loaded_on(today)

    kinds = Counter(lot_id for lot_id, _kind in session.execute(select(SeedTest.lot_id, SeedTest.kind).distinct()))

    assert kinds.most_common(1)[0][1] == 5
    assert Counter(session.scalars(select(SeedTest.is_accepted)))[False] == 1


def test_replicates_differ_as_by_chance(loaded_on: LoadedOn, today: dt.date) -> None:
    session = loaded_on(today)

    tests = session.scalars(
        select(SeedTest).where(SeedTest.kind == TestKind.GERMINATION, SeedTest.is_accepted)
    ).all()
    counts = [tuple(test.readings["counts"]) for test in tests]
    spread, expected = 0.0, 0.0
    for test in tests:
        replicates = test.readings["counts"]
        mean = sum(replicates) / len(replicates)
        spread += sum((count - mean) ** 2 for count in replicates) / (len(replicates) - 1)
        expected += test.readings["seeds"] * test.result * (1 - test.result)

    # Most are unlike any other, and vary about as a binomial does; those that chance alone would refuse are left
    # out, which takes a little away.
    assert len(set(counts)) > 0.95 * len(counts)
    assert 0.75 < spread / expected < 1.1


def test_the_acorns_in_the_freezer_are_left_out_of_the_plan_by_name(loaded_on: LoadedOn, today: dt.date) -> None:
    session = loaded_on(today)

    frozen = session.scalars(select(Lot).join(Lot.storage_place).where(StoragePlace.temperature_c < -1)).all()
    lost = [lot for lot in frozen if lot.stored_on is not None]
    inputs = gather(session, today=today).inputs.lots

    assert len(lost) == 1
    assert inputs.loc[inputs["is_lost"], "lot_id"].tolist() == [lost[0].id]
