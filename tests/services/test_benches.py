"""Benches: what is written, what is refused."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change
from nursery.services.benches import change_bench, create_bench

TODAY = dt.date(2026, 11, 25)


def test_a_bench_is_written_down_and_the_act_is_on_record(session: Session, maker: Any) -> None:
    nursery = maker.nursery()
    row = create_bench(
        session, "Ana", values={"nursery_id": nursery.id, "name": "East 2", "area_m2": 12.5}, today=TODAY
    )
    noted = session.scalars(select(Change).where(Change.subject == "benches")).one()
    assert (row.area_m2, noted.person, noted.action, noted.subject_id) == (12.5, "Ana", "created", row.id)


def test_a_name_is_its_own_within_a_nursery_only(session: Session, maker: Any) -> None:
    here, there = maker.nursery(), maker.nursery()
    values = {"name": "East 2", "area_m2": 12.5}
    create_bench(session, "Ana", values={**values, "nursery_id": here.id}, today=TODAY)
    create_bench(session, "Ana", values={**values, "nursery_id": there.id}, today=TODAY)
    with pytest.raises(Invalid) as refused:
        create_bench(session, "Ana", values={**values, "nursery_id": here.id}, today=TODAY)
    assert refused.value.errors == {
        "name": "This nursery has a bench “East 2” already. Choose another name, or open the existing bench."
    }


def test_a_bench_keeps_its_own_name_and_may_not_take_another_benches(session: Session, maker: Any) -> None:
    nursery = maker.nursery()
    first, second = (
        create_bench(session, "Ana", values={"nursery_id": nursery.id, "name": name, "area_m2": 5.0}, today=TODAY)
        for name in ("East 1", "East 2")
    )
    assert change_bench(session, "Ana", row=first, values={"area_m2": 6.0}, today=TODAY).area_m2 == 6.0
    with pytest.raises(Invalid) as refused:
        change_bench(session, "Ana", row=second, values={"name": "East 1"}, today=TODAY)
    assert list(refused.value.errors) == ["name"]


@pytest.mark.parametrize("area", [0.0, -1.0, 100_001.0])
def test_an_area_out_of_bounds_is_refused(session: Session, maker: Any, area: float) -> None:
    with pytest.raises(Invalid) as refused:
        create_bench(
            session, "Ana", values={"nursery_id": maker.nursery().id, "name": "East", "area_m2": area}, today=TODAY
        )
    assert list(refused.value.errors) == ["area_m2"]
