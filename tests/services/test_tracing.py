"""Trace: back to stand and permit, and on to every site by the rule that the plan uses."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.models import Draw, Plan, PlanLine
from nursery.models.lots import Material
from nursery.models.movements import Measure, MovementKind
from nursery.planning.words import Method
from nursery.services.ledger import move
from nursery.services.planning import make_plan
from nursery.services.tracing import find_traceable, trace_lot, trace_target
from tests.conftest import TODAY
from tests.handmade_plans import a_draw, a_line, a_plan

LONG_AGO = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)


def test_a_target_leads_to_lot_trip_population_and_permit(session: Session, maker: Any) -> None:
    plan, target = a_plan(session), maker.target()
    line = a_line(session, plan, target)
    stand, trip = maker.population(region_code="R1"), maker.trip(people="Ana Seabra, Rui Vale")
    first = maker.lot(population=stand, trip_id=trip.id, permit_number="COL-7/2026")
    second = maker.lot(population=maker.population())
    a_draw(session, line, first)
    a_draw(session, line, second, seeds=40)
    a_draw(session, a_line(session, plan, maker.target()), first)

    trace = trace_target(session, plan, target.id)

    assert trace.line is line
    assert [(draw.seeds, lot.code, lot.permit_number) for draw, lot in trace.draws] == [
        (160, first.code, "COL-7/2026"),
        (40, second.code, ""),
    ]
    lot = trace.draws[0][1]
    assert lot.trip is not None
    assert (lot.trip.people, lot.population.region_code) == ("Ana Seabra, Rui Vale", "R1")
    assert trace.draws[1][1].trip is None


def test_a_target_outside_the_plan_has_no_chain(session: Session, maker: Any) -> None:
    plan, target = a_plan(session), maker.target()

    for known in (plan, None):
        trace = trace_target(session, known, target.id)
        assert (trace.target, trace.line, trace.draws) == (target, None, [])


def test_a_lot_reaches_the_sites_of_its_region_and_where_none_is_known_of_its_basin(
    session: Session, maker: Any
) -> None:
    lot = maker.lot(population=maker.population(region_code="R1", basin="Alva", latitude=40.2, longitude=-7.4))
    same = maker.site(name="same region", region_code="R1", basin="Brenha", latitude=40.5)
    basin = maker.site(name="same basin", basin="Alva", latitude=40.3)
    maker.site(name="other region", region_code="R2", basin="Alva")
    maker.site(name="other region too", region_code="R3")
    maker.site(name="other basin", basin="Brenha")
    maker.site(name="unknown")
    maker.site(name="archived", region_code="R1", archived_at=LONG_AGO)

    trace = trace_lot(session, None, lot.id, today=TODAY)

    assert [(reach.site, reach.cell.verdict) for reach in trace.reached] == [
        (basin, "caution"),
        (same, "caution"),
    ]
    assert [(reason, len(sites)) for reason, sites in trace.excluded] == [
        ("Region of provenance", 2),
        ("River basin", 2),
    ]


def test_a_population_without_codes_reaches_nothing_and_says_why(session: Session, maker: Any) -> None:
    lot = maker.lot()
    maker.site(region_code="R1")
    maker.site(basin="Alva")

    trace = trace_lot(session, None, lot.id, today=TODAY)

    assert trace.reached == []
    assert {reason for reason, _sites in trace.excluded} == {"Region of provenance", "River basin"}


def test_a_lot_knows_its_draws_and_where_its_kind_is_wanted(session: Session, maker: Any) -> None:
    stand = maker.population(region_code="R1")
    lot, site = maker.lot(population=stand), maker.site(region_code="R1")
    plan, old = a_plan(session), a_plan(session, is_adopted=False)
    line = a_line(session, plan, maker.target(site=site))
    a_line(session, plan, maker.target(site=site, season=2028))
    a_line(session, plan, maker.target(site=site, season=2029), method=Method.CUTTINGS)
    a_line(session, plan, maker.target(site=site, species=maker.species("alnus-glutinosa")))
    a_draw(session, line, lot)
    a_draw(session, a_line(session, old, maker.target(site=site, season=2030)), lot)

    trace = trace_lot(session, plan, lot.id, today=TODAY)

    assert [(draw.seeds, drawn) for draw, drawn in trace.draws] == [(160, line)]
    assert [reach.seasons for reach in trace.reached] == [[2027, 2028]]
    cutting = maker.lot(population=stand, material=Material.CUTTINGS, pieces=30)
    assert [reach.seasons for reach in trace_lot(session, plan, cutting.id, today=TODAY).reached] == [[2029]]


def test_what_a_real_plan_draws_lies_within_reach(demo_session: Session, today: dt.date) -> None:
    plan = make_plan(demo_session, "Ana Seabra", today=today)
    drawn = demo_session.execute(
        select(Draw.lot_id, PlanLine.site_id).join(Draw.line).where(PlanLine.plan_id == plan.id)
    ).all()
    lots = sorted({lot for lot, _site in drawn})[::4]

    for lot in lots:
        reached = {reach.site.id for reach in trace_lot(demo_session, plan, lot, today=TODAY).reached}
        assert {site for one, site in drawn if one == lot} - reached == set()
    assert len(lots) > 5


def test_tracing_costs_the_same_for_one_and_for_three(
    session: Session, engine: Engine, maker: Any, count_queries: Any
) -> None:
    plan, target = a_plan(session), maker.target()
    line, lot = a_line(session, plan, target), maker.lot()
    counted: list[tuple[int, int]] = []
    for more in (1, 2):
        for _ in range(more):
            a_draw(session, line, maker.lot(trip_id=maker.trip().id, storage_place_id=maker.place().id))
            a_draw(session, a_line(session, plan, maker.target()), lot)
            # Both the lot traced and one drawn hold seed of more and more lots, and the lot goes into others.
            mixed = a_mixture(session, maker, lot, *[maker.lot(trip_id=maker.trip().id) for _ in range(2)])
            a_draw(session, line, mixed)
        session.commit()
        sizes = []
        for trace in (
            lambda s: trace_target(s, plan, target.id),
            lambda s: trace_lot(s, plan, lot.id, today=TODAY),
        ):
            with Session(engine) as fresh, count_queries(engine) as statements:
                trace(fresh)
            sizes.append(len(statements))
        counted.append((sizes[0], sizes[1]))

    # Not counted: the recursive statements, one for the target and two for the lot.
    assert counted == [(6, 15), (6, 15)]


def a_mixture(session: Session, maker: Any, *parents: Any) -> Any:
    """A lot of 300 g of the first and 100 g of each other one, all of one place and year."""
    child = maker.lot(population=parents[0].population, amount_mg=0, trip_id=None)
    for number, parent in enumerate(parents):
        amount = 300 if number == 0 else 100
        for one, other, change in ((parent, child, -amount), (child, parent, amount)):
            move(
                session, "Ana", lot=one, kind=MovementKind.MIXED, measure=Measure.SEED, change=change,
                reason="", happened_on=dt.date(2026, 11, 1), act=f"mix {child.id}", other_lot=other,
            )  # fmt: skip
    return child


def test_a_drawn_mixture_leads_to_every_lot_in_it_with_its_share(session: Session, maker: Any) -> None:
    plan, target = a_plan(session), maker.target()
    first, second = maker.lot(permit_number="COL-1"), maker.lot(permit_number="COL-2")
    mixed = a_mixture(session, maker, first, second)
    again = a_mixture(session, maker, mixed, maker.lot(permit_number="COL-3"))
    a_draw(session, a_line(session, plan, target), again, seeds=161)

    trace = trace_target(session, plan, target.id)

    assert [(one.lot.permit_number, one.share) for one in trace.sources(again)] == [
        ("COL-1", 0.5625), ("COL-3", 0.25), ("COL-2", 0.1875),
    ]  # fmt: skip
    assert [(part.origin.permit_number, part.seeds, part.milligrams) for part in trace.parts] == [
        ("COL-1", 91, 900), ("COL-3", 40, 400), ("COL-2", 30, 300),
    ]  # fmt: skip
    lots = {lot.id: trace_lot(session, plan, lot.id, today=TODAY) for lot in (first, mixed, again)}
    assert [[one.id for one in lots[lot.id].descendants] for lot in (first, mixed, again)] == [
        [mixed.id, again.id], [again.id], [],
    ]  # fmt: skip
    assert [len(lots[lot.id].sources) for lot in (first, mixed, again)] == [0, 2, 3]


def test_lots_and_targets_are_found_by_any_name(session: Session, maker: Any) -> None:
    alder = maker.species("alnus-glutinosa")
    lot = maker.lot(code="AJFA-4223-K", population=maker.population(species=alder))
    site = maker.site(code="S-900", name="Azenha de Cima")
    target = maker.target(site=site)
    maker.target(archived_at=LONG_AGO, season=2030)

    def found(text: str) -> tuple[list[int], list[int]]:
        answer = find_traceable(session, text)
        return [row.lot_id for row in answer.lots], [row.target_id for row in answer.targets]

    assert found("ajfa") == ([lot.id], [])
    assert found("amieiro") == ([lot.id], [])
    assert found("azenha cima") == ([], [target.id])
    assert found("s-900") == ([], [target.id])
    assert found("azenha sobreiro") == ([], [target.id])
    assert found("") == ([lot.id], [target.id])
    assert found("no such thing") == ([], [])


def test_a_long_answer_says_that_there_is_more(session: Session, maker: Any) -> None:
    for _ in range(26):
        maker.target()

    answer = find_traceable(session, "bank")

    assert (len(answer.targets), answer.more_targets, answer.more_lots) == (25, True, False)


@pytest.mark.parametrize("trace", [trace_target, partial(trace_lot, today=TODAY)])
def test_what_is_not_there_is_told(session: Session, trace: Any) -> None:
    plan: Plan | None = None
    with pytest.raises(NotFound):
        trace(session, plan, 99)
