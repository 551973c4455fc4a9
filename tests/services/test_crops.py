"""What real lots took of a crop is no longer there to be offered."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models.lots import Material
from nursery.services.crops import read_taken
from nursery.services.ledger import extract_seed
from nursery.services.needs import read_sheets
from tests.handmade_plans import a_line, a_need, a_plan

TODAY = dt.date(2027, 11, 1)


@pytest.fixture
def place(maker: Any) -> Any:
    return maker.population(region_code="R1", fruiting_plants=40)


def test_seed_weighed_clean_is_turned_into_fruit_by_the_yield_of_the_need(
    session: Session, maker: Any, place: Any
) -> None:
    need = a_need(session, a_plan(session), maker.species(), grams=20.0, fruit_kg=0.5)
    maker.lot(population=place, collected_on=dt.date(2027, 10, 5), amount_mg=10_000)
    fruit = maker.lot(population=place, collected_on=dt.date(2027, 10, 6), amount_mg=0, fruit_mg=100_000)
    extract_seed(session, "Ana", lot=fruit, fruit_mg=100_000, seed=7_000, happened_on=TODAY, today=TODAY)

    assert read_taken(session, [need], [place.id]) == {(need.id, place.id): pytest.approx(0.25 + 0.1)}


@pytest.mark.parametrize(
    ("day", "counts"),
    [
        (dt.date(2027, 8, 1), False), (dt.date(2027, 8, 2), True), (dt.date(2028, 1, 29), True),
        (dt.date(2028, 1, 30), False), (dt.date(2026, 10, 20), False),
    ],
)  # fmt: skip
def test_lots_of_another_crop_do_not_count(
    session: Session, maker: Any, place: Any, day: dt.date, counts: bool
) -> None:
    need = a_need(session, a_plan(session), maker.species())
    maker.lot(population=place, collected_on=day, amount_mg=10_000)

    assert bool(read_taken(session, [need], [place.id])) == counts


def test_what_was_taken_is_missing_from_what_a_stand_may_give(session: Session, maker: Any, place: Any) -> None:
    plan = a_plan(session)
    seed = a_need(session, plan, maker.species(), fruit_kg=0.5)
    cuttings = a_need(session, plan, maker.species(), grams=None, fruit_kg=None, seeds=100)
    for need in (seed, cuttings):
        a_line(session, plan, maker.target(), need_id=need.id)
    before = {need_id: sheet.most or 0.0 for need_id, sheet in _sheets(session, plan, seed, cuttings).items()}
    day = dt.date(2027, 10, 5)
    maker.lot(population=place, collected_on=day, amount_mg=0, fruit_mg=300_000)
    maker.lot(population=place, collected_on=day, amount_mg=None, pieces=30, material=Material.CUTTINGS)

    after = _sheets(session, plan, seed, cuttings)

    assert after[seed.id].most == pytest.approx(before[seed.id] - 0.3)
    assert after[cuttings.id].most == before[cuttings.id] - 30
    assert [stand.taken for stand in after[seed.id].stands.here] == [pytest.approx(0.3)]

    maker.lot(population=place, collected_on=day, amount_mg=0, fruit_mg=90_000_000_000)
    assert _sheets(session, plan, seed)[seed.id].most == 0


def _sheets(session: Session, plan: Any, *needs: Any) -> Any:
    session.flush()
    return read_sheets(session, plan, [need.id for need in needs])
