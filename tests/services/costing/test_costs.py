"""Costs on record: every grouping adds up to the same cent, and one batch worked out by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.models import (
    Batch,
    Expense,
    Lot,
    Person,
    PlanLine,
    PlantMovement,
    Preferences,
    Supply,
    SupplyMovement,
    WorkTime,
)
from nursery.models.batches import PlantMovementKind
from nursery.models.supplies import SupplyKind, SupplyMovementKind, SupplyUnit
from nursery.planning.work.costs import PARTS, Part
from nursery.planning.work.words import Job
from nursery.services.costing.carriers import read_carriers
from nursery.services.costing.costs import By, batch_costs, read_costs
from nursery.services.planning import current_plan

SOWN = dt.date(2026, 11, 2)
WORKED = dt.date(2026, 11, 3)
EVERY: tuple[By, ...] = ("species", "batch", "site", "funder")


def worked(hours: float, **columns: Any) -> WorkTime:
    return WorkTime(**{"worked_on": WORKED, "job": Job.SOW, "hours": hours, "person": "Ana", **columns})


@pytest.fixture
def yard(session: Session, maker: Any) -> dict[str, Any]:
    """Two batches: 400 oaks at two sites of two funders, 300 of them gone out; 100 ashes for nobody yet."""
    session.add(Preferences(wage_per_hour=14.0, volunteer_per_hour=10.0, overhead=0.15, cost_seed=0.02))
    tray = maker.container(cells_per_tray=40, cell_volume_cm3=300.0)
    session.add_all([
        Supply(name="Trays", kind=SupplyKind.CONTAINER, unit=SupplyUnit.PIECES, container_id=tray.id, pack=10,
               price_per_pack=40.0),
        Supply(name="Peat-free mix", kind=SupplyKind.SUBSTRATE, unit=SupplyUnit.LITRES, pack=70,
               price_per_pack=7.0),
        Supply(name="Labels", kind=SupplyKind.LABEL, unit=SupplyUnit.PIECES, pack=100, price_per_pack=4.0,
               use_per_1000_plants=300.0),
        Supply(name="Ties", kind=SupplyKind.OTHER, unit=SupplyUnit.PIECES, use_per_1000_plants=10.0),
    ])  # fmt: skip
    bank, marsh = maker.site(name="Bank"), maker.site(name="Marsh")
    oak = maker.target(site=bank, funder="River fund", plants=200)
    other = maker.target(site=marsh, funder="Guadorva trust", plants=100)
    first = maker.batch(
        container_id=tray.id, target_id=oak.id, seeds=800, seeds_per_cell=2, trays=10, cells_per_tray=40, alive=100
    )
    ash = maker.population(species=maker.species("fraxinus-angustifolia"))
    second = maker.batch(lot=maker.lot(population=ash), container_id=tray.id, seeds=400, trays=10, alive=100)
    for place, target, plants in ((bank, oak, 200), (marsh, other, 100)):
        session.add(
            PlantMovement(
                batch_id=first.id, kind=PlantMovementKind.DISPATCHED, change=-plants, person="Ana",
                act=f"{plants}", happened_on=dt.date(2026, 11, 20), site_id=place.id, target_id=target.id,
            )
        )  # fmt: skip
    session.flush()
    return {"first": first, "second": second, "bank": bank, "tray": tray}


def test_one_batch_worked_out_by_hand(session: Session, yard: dict[str, Any]) -> None:
    """400 oaks of 800 seeds, two to a cell, in 10 trays of 40 cells of 300 cm³.

    By hand, in euro: labour 5 h × 14.00 = 70.00; seed 800 × 0.02 = 16.00; trays 10 × 4.00 ÷ 5 uses = 8.00;
    substrate 400 × 0.3 l × 1.2 = 144 l at 0.10 = 14.40; labels for 400 plants, 300 for a thousand at 0.04: 4.80;
    an expense of its own 12.34. Together 125.54; overhead 15 % = 18.831 → 18.83. In all 144.37, 0.360925 a plant.
    Four hours given at 10.00 stand beside it.
    """
    session.add_all([
        worked(5, batch_id=yard["first"].id),
        worked(4, batch_id=yard["first"].id, worker_id=_volunteer(session)),
        worked(99, batch_id=yard["first"].id, withdrawn_at=dt.datetime.now(dt.UTC), withdrawn_reason="twice"),
        worked(50, job=Job.COLLECT),
        Expense(spent_on=WORKED, what="Cork mats", amount=12.34, batch_id=yard["first"].id),
    ])  # fmt: skip
    row, _prices = batch_costs(session, yard["first"])
    assert dict(zip(PARTS, row.actual.cents, strict=True)) == {
        Part.LABOUR: 7000, Part.SEED: 1600, Part.CONTAINERS: 800, Part.SUBSTRATE: 1440, Part.SUPPLIES: 480,
        Part.EXPENSES: 1234, Part.OVERHEAD: 1883,
    }  # fmt: skip
    assert (row.actual.plants.grown, row.actual.plants.planted) == (400.0, 300.0)
    assert row.actual.per(row.actual.plants.grown) == pytest.approx(0.360925)
    assert (row.hours_given, row.in_kind) == (4.0, 4000)
    assert row.actual.quantity(Part.SUBSTRATE) == pytest.approx(144.0)


def _volunteer(session: Session) -> int:
    person = Person(name="Inês", hours_per_week=4, is_volunteer=True)
    session.add(person)
    session.flush()
    return person.id


def test_by_site_and_funder_a_batch_is_parted_as_its_plants_went(session: Session, yard: dict[str, Any]) -> None:
    session.add(worked(10, batch_id=yard["first"].id))
    labour = {
        by: {row.label: row.actual.part(Part.LABOUR) for row in read_costs(session, by=by).rows} for by in EVERY
    }
    # Half went to the bank, a quarter to the marsh, and a quarter waits for the bank.
    assert labour["site"] == {"Bank": 10500, "Marsh": 3500, "No site yet": 0}
    assert labour["funder"] == {"River fund": 10500, "Guadorva trust": 3500, "No funder named": 0}


def test_an_expense_for_all_is_borne_by_the_plants_that_grew_that_day(
    session: Session, yard: dict[str, Any]
) -> None:
    later = session.get(Batch, yard["second"].id)
    assert later is not None
    later.sown_on = later.stage_on = dt.date(2026, 11, 10)
    session.add(Expense(spent_on=WORKED, what="Fuel", amount=10.0))
    session.add(Expense(spent_on=dt.date(2026, 11, 12), what="Fuel", amount=10.0))
    rows = read_costs(session, by="batch").rows
    # 400 cells each: the first fuel is all the first batch's, the second is shared evenly.
    assert [row.actual.part(Part.EXPENSES) for row in rows] == [1500, 500]


def test_an_expense_that_nothing_on_record_can_bear_still_counts(
    session: Session, yard: dict[str, Any], maker: Any
) -> None:
    willow = maker.species("salix-alba")
    session.add(Expense(spent_on=WORKED, what="Cuttings", amount=33.33, species_id=willow.id))
    rows = {row.label: row.actual.part(Part.EXPENSES) for row in read_costs(session).rows}
    assert rows["Salix alba"] == 3333


def test_a_use_written_down_for_a_batch_stands_in_for_the_one_reckoned(
    session: Session, yard: dict[str, Any]
) -> None:
    mix = session.scalars(select(Supply).where(Supply.kind == SupplyKind.SUBSTRATE)).one()
    session.add(
        SupplyMovement(
            supply_id=mix.id, kind=SupplyMovementKind.USED, change=-200.0, batch_id=yard["first"].id,
            happened_on=WORKED, person="Ana",
        )
    )  # fmt: skip
    row, _prices = batch_costs(session, yard["first"])
    assert (row.actual.part(Part.SUBSTRATE), row.actual.quantity(Part.SUBSTRATE)) == (2000, 200.0)


def test_hours_before_a_split_go_along_with_the_plants(session: Session, yard: dict[str, Any], maker: Any) -> None:
    first = maker.batch(seeds=0, alive=300)
    part = maker.batch(lot=session.get(Lot, first.lot_id), seeds=0, alive=100)
    for batch, other, change, act in ((first, None, 400, "c"), (first, part, -100, "s"), (part, first, 100, "s")):
        session.add(
            PlantMovement(
                batch_id=batch.id, other_batch_id=other.id if other else None, change=change, act=act,
                person="Ana", kind=PlantMovementKind.SPLIT if other else PlantMovementKind.COUNTED,
                happened_on=dt.date(2026, 11, 10),
            )
        )  # fmt: skip
        session.flush()
    session.add(worked(8, batch_id=first.id))
    session.add(worked(8, batch_id=first.id, worked_on=dt.date(2026, 11, 15)))
    labour = {row.id: row.actual.part(Part.LABOUR) for row in read_costs(session, by="batch").rows}
    assert (labour[first.id], labour[part.id]) == (16 * 1400 - 2800, 2800)


def test_seed_costs_what_its_trip_took_where_the_hours_are_on_record(
    session: Session, yard: dict[str, Any], maker: Any
) -> None:
    lot = session.get(Lot, yard["first"].lot_id)
    assert lot is not None
    trip = maker.trip(hours=10)
    lot.trip_id, lot.tsw_g, lot.purity = trip.id, 5_000.0, 1.0
    maker.lot(trip_id=trip.id)
    session.flush()
    # Half of 10 h at 14.00 for 500 g of seed of 5 g each, which are 100 seeds: 0.70 a seed.
    row, prices = batch_costs(session, yard["first"])
    assert prices.of_lot(lot.id) == pytest.approx(0.7)
    assert row.actual.part(Part.SEED) == 56000


def test_supplies_without_a_price_are_named_and_in_no_sum(
    session: Session, yard: dict[str, Any], maker: Any
) -> None:
    other = maker.container(name="Deep pots")
    maker.batch(container_id=other.id)
    assert list(read_costs(session).unpriced) == ["Deep pots", "Ties"]


def test_every_grouping_of_the_demo_adds_up_to_the_same_cent(demo_session: Session, engine: Engine) -> None:
    session = demo_session
    before = read_costs(session).total.actual
    lines = session.scalars(select(PlanLine).where(PlanLine.seeds > 100).order_by(PlanLine.id).limit(6)).all()
    for number, line in enumerate(lines):
        lot_id = session.scalar(select(Lot.id).where(Lot.species_id == line.species_id).limit(1))
        session.add(
            Batch(
                code=f"B-T{number}", species_id=line.species_id, lot_id=lot_id, line_id=line.id,
                target_id=line.target_id if number % 2 else None, container_id=line.container_id,
                method=line.method, protocol=line.protocol, sown_on=SOWN, stage_on=SOWN,
                seeds=line.seeds // (number + 1),
                seeds_per_cell=line.seeds_per_cell, trays=max(line.trays, 1), cells_per_tray=40, alive=37 * number,
            )
        )  # fmt: skip
    session.flush()
    batch_id = session.scalar(select(Batch.id).where(Batch.code == "B-T2"))
    species_id = lines[3].species_id
    spent = [
        Expense(spent_on=WORKED, what="Fuel", amount=100.01),
        Expense(spent_on=dt.date(2020, 1, 1), what="Old rent", amount=77.77),
        Expense(spent_on=WORKED, what="Mats", amount=3.33, batch_id=batch_id),
        Expense(spent_on=WORKED, what="Feed", amount=9.99, species_id=species_id),
        Expense(spent_on=WORKED, what="Sign", amount=5.55, funder="Nobody’s fund"),
    ]
    session.add_all(spent)
    session.add_all([worked(3.3, batch_id=batch_id), worked(7.7)])
    session.flush()
    found = {by: read_costs(session, by=by) for by in EVERY}
    for costs in found.values():
        for side in ("planned", "actual"):
            total = getattr(costs.total, side)
            for part, cents in zip(PARTS, total.cents, strict=True):
                assert sum(getattr(row, side).part(part) for row in costs.rows) == cents
    assert len({costs.total.planned.total for costs in found.values()}) == 1
    assert len({costs.total.actual.total for costs in found.values()}) == 1
    total = found["species"].total
    assert total.actual.part(Part.EXPENSES) == before.part(Part.EXPENSES) + 19665
    assert total.actual.part(Part.LABOUR) == before.part(Part.LABOUR) + 11 * 1400
    assert total.actual.part(Part.OVERHEAD) == round(
        (total.actual.total - total.actual.part(Part.OVERHEAD)) * 0.15
    )
    by_season = [read_costs(session, season=season).total for season in found["species"].seasons]
    # The fund that no carrier has bears its expense outside of all seasons.
    assert sum(one.planned.total for one in by_season) == total.planned.total
    assert total.planned.total > 0


def test_plants_of_batches_are_not_counted_once_more_in_the_lines_they_cover(demo_session: Session) -> None:
    growing = read_carriers(demo_session, current_plan(demo_session))
    unsown = [one for one in growing.carriers if one.batch_id is None]
    by_id = {line.id: line for line in growing.lines}
    covered = [line for line in growing.lines if (line.growing or {}).get("covered")]
    assert covered
    assert {one.line_id for one in unsown} & {line.id for line in covered} == set()
    partly = [by_id[one.line_id or 0] for one in unsown if by_id[one.line_id or 0].growing]
    assert partly
    for line in partly:
        [carrier] = [one for one in unsown if one.line_id == line.id]
        assert line.growing is not None
        assert carrier.planned.grown == pytest.approx(line.expected - line.growing["expected"])


def test_queries_do_not_grow_with_the_batches(
    session: Session, engine: Engine, yard: dict[str, Any], maker: Any, count_queries: Any
) -> None:
    session.commit()
    with count_queries(engine) as few:
        read_costs(session)
    for _more in range(10):
        maker.batch(container_id=yard["tray"].id, lot=session.get(Lot, yard["first"].lot_id))
    session.add_all([worked(1) for _more in range(10)])
    session.commit()
    session.expire_all()
    with count_queries(engine) as many:
        read_costs(session)
    assert len(many) == len(few)
