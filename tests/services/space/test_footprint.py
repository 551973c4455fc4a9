"""Room and water by stage: working figures until the nursery sets its own."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change, StageRoom
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.space.footprint import SPACINGS
from nursery.services.space.footprint import bench_area, is_measured, rooms, set_room, tray_m2


def test_working_figures_stand_in_and_say_that_they_do(session: Session) -> None:
    found = rooms(session)
    assert {stage: (room.spacing, room.water_l_per_m2_day, room.is_own) for stage, room in found.items()} == {
        stage: (SPACINGS[stage], None, False) for stage in STAGES
    }


def test_own_figures_come_first_and_their_change_is_on_record(session: Session) -> None:
    set_room(session, "Ana", stage=Stage.GROWING, spacing=1.5, water_l_per_m2_day=6.0)
    set_room(session, "Rui", stage=Stage.GROWING, spacing=1.6, water_l_per_m2_day=6.0)
    session.flush()
    room = rooms(session)[Stage.GROWING]
    noted = session.scalars(select(Change).where(Change.subject == "stage_rooms").order_by(Change.id)).all()
    assert (room.spacing, room.water_l_per_m2_day, room.is_own, room.person) == (1.6, 6.0, True, "Rui")
    assert [(row.person, row.details) for row in noted] == [
        ("Ana", {"spacing": [None, 1.5]}),
        ("Rui", {"spacing": [1.5, 1.6]}),
    ]


def test_nothing_set_is_nothing_kept(session: Session) -> None:
    set_room(session, "Ana", stage=Stage.SOWN, spacing=None, water_l_per_m2_day=None)
    assert session.scalar(select(func.count(StageRoom.id))) == 0


@pytest.mark.parametrize(("field", "value"), [("spacing", 0.9), ("spacing", 5.1), ("water_l_per_m2_day", 31.0)])
def test_slips_are_refused(session: Session, field: str, value: float) -> None:
    given = {"spacing": 1.0, "water_l_per_m2_day": 1.0, field: value}
    with pytest.raises(Invalid) as refused:
        set_room(session, "Ana", stage=Stage.SOWN, **given)
    assert list(refused.value.errors) == [field]


def test_bench_of_a_batch_follows_its_tray_and_its_stage(session: Session, maker: Any) -> None:
    deep = maker.container(tray_length_mm=500.0, tray_width_mm=400.0)
    plain = maker.container(cells_per_tray=40, cell_volume_cm3=1000.0)
    assert (is_measured(deep), is_measured(plain)) == (True, False)
    assert [tray_m2(deep), tray_m2(plain), tray_m2(None)] == pytest.approx([0.2, 0.4, 0.24])
    assert bench_area(session, trays=10, container=deep, stage=Stage.GROWING) == pytest.approx(2.5)
