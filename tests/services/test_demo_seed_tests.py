"""The demo shows every state that seed can be in, on any day of the year."""

from __future__ import annotations

import datetime as dt
from collections import Counter

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, SeedTest
from nursery.services.demo import load_demo
from nursery.services.seed_tests import list_tests, rulings
from nursery.services.watching import watch_lots

DAYS = [dt.date(2026, 11, 25), dt.date(2027, 2, 28), dt.date(2027, 6, 15), dt.date(2027, 9, 10)]


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_seed_is_past_its_best_refused_misplaced_and_due(session: Session, day: dt.date) -> None:
    load_demo(session, "Ana Seabra", today=day)

    found = Counter(each.reason.value for each in watch_lots(session, today=day))

    assert found["misplaced"] == found["repeat"] == 1
    assert min(found["past"], found["retest"]) >= 1


def test_lots_have_the_figures_of_the_tests_that_rule_them(session: Session, today: dt.date) -> None:
    load_demo(session, "Ana Seabra", today=today)

    lots = session.scalars(select(Lot).join(SeedTest, SeedTest.lot_id == Lot.id).distinct()).all()
    wrong = [
        (lot.code, column)
        for lot in lots
        for column, test in rulings(list_tests(session, lot)).items()
        if test is not None and getattr(lot, column) != test.result
    ]

    assert len(lots) > 60
    assert wrong == []


def test_one_lot_has_passed_a_test_of_every_kind(session: Session, today: dt.date) -> None:
    load_demo(session, "Ana Seabra", today=today)

    kinds = Counter(lot_id for lot_id, _kind in session.execute(select(SeedTest.lot_id, SeedTest.kind).distinct()))

    assert kinds.most_common(1)[0][1] == 5
    assert Counter(session.scalars(select(SeedTest.is_accepted)))[False] == 1
