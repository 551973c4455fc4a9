"""A nursery of the demo with too little room: last season's plants still stand where the new sowings should."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Bench, Container, Nursery, Target
from nursery.planning.growing.words import Stage
from tests.conftest import Maker
from tests.plan_lines import add_line, make_kept_plan, phases_of

HILL = "Corvenda hill nursery"
_ASIDE = dt.datetime(2026, 3, 1, tzinfo=dt.UTC)


def make_room(session: Session) -> None:
    """No bench of the demo is too full, so that a test knows the only place that is."""
    for bench in session.scalars(select(Bench)):
        bench.area_m2 = 500.0
    session.flush()


def crowd_the_hill(session: Session) -> Batch:
    """The hill nursery has room for its sowings, but 300 trays of last season leave only in February."""
    make_room(session)
    maker = Maker(session)
    maker.made = 900  # beyond the demo's own codes
    hill = session.scalars(select(Nursery).where(Nursery.name == HILL)).one()
    tray = session.scalars(select(Container).where(Container.nursery_id == hill.id).order_by(Container.id)).first()
    assert tray is not None
    older = make_kept_plan(session, dt.date(2025, 11, 25), adopted=False, label="Last season")
    line = add_line(
        maker, older, phases_of(dt.date(2026, 1, 10), ("emergence", 60), ("growing", 240), ("hardening", 96)),
        container_id=tray.id, trays=300,
    )  # fmt: skip
    target = session.get(Target, line.target_id)
    assert target is not None
    target.archived_at = _ASIDE
    hill.bench_area_m2 = 75.0
    for bench in session.scalars(select(Bench).where(Bench.nursery_id == hill.id)):
        bench.area_m2 = 5.0
    return maker.batch(
        code="OLD-1", line_id=line.id, nursery_id=hill.id, container_id=tray.id, trays=300, seeds=960, alive=8000,
        stage=Stage.HARDENING, stage_on=dt.date(2026, 11, 1), sown_on=dt.date(2026, 1, 10),
    )  # fmt: skip


def fill_a_bench(session: Session) -> Batch:
    """Thirty trays of 0.2 m² on a bench of 5 m², beside one with room, in a nursery of their own."""
    maker = Maker(session)
    maker.made = 950
    nursery = maker.nursery(name="Shade yard", bench_area_m2=20.0)
    deep = maker.container(nursery=nursery, tray_length_mm=500.0, tray_width_mm=400.0)
    east = maker.bench(nursery=nursery, name="East table", area_m2=5.0)
    maker.bench(nursery=nursery, name="West table", area_m2=9.0)
    lot = maker.lot(population=maker.population(species=maker.species("quercus-suber")))
    return maker.batch(
        code="FULL-1", bench=east, lot=lot, container_id=deep.id, nursery_id=nursery.id, trays=30, alive=900,
        stage=Stage.READY, sown_on=dt.date(2026, 1, 10), stage_on=dt.date(2026, 11, 1),
    )  # fmt: skip
