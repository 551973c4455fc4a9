"""Which seed would fill a line, and what comes of trying it."""

from __future__ import annotations

import datetime as dt

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, NotFound
from nursery.models import Plan, PlanLine, Target
from nursery.models.base import Base
from nursery.models.plans import LineStatus
from nursery.services.planning import current_plan
from nursery.services.planning.filling import Fill, read_fills
from nursery.services.planning.held import read_held, shortest_lines
from nursery.services.planning.trial import try_fill


def plan_of(session: Session) -> Plan:
    found = current_plan(session)
    assert found is not None
    return found


def line_of(session: Session, species: str, site: str) -> PlanLine:
    query = select(PlanLine).where(
        PlanLine.species_name == species, PlanLine.site_name == site, PlanLine.plan_id == plan_of(session).id
    )
    return session.scalars(query.order_by(PlanLine.season).limit(1)).one()


def fill_of(session: Session, line: PlanLine, today: dt.date) -> Fill:
    return read_fills(session, plan_of(session), [line], today=today)[line.id]


def rows_of(session: Session) -> dict[str, int]:
    return {
        table.name: session.scalar(select(func.count()).select_from(table)) or 0
        for table in Base.metadata.sorted_tables
    }


def test_the_sentence_names_population_amount_and_permit(demo_session: Session, today: dt.date) -> None:
    line = line_of(demo_session, "Salix salviifolia", "Taralda gorge")
    assert fill_of(demo_session, line, today).sentence == (
        "No lot of this species from region GV-A is in hand; 680 cuttings from population Taralda gorge,"
        " willow scrub among boulders under permit COL GV 2026/08, collected by 7 Feb 2027, would fill it."
    )


def test_where_no_population_is_known_one_must_be_found(demo_session: Session, today: dt.date) -> None:
    line = line_of(demo_session, "Salix salviifolia", "Varandil pastures")
    fill = fill_of(demo_session, line, today)
    assert fill.sentence == (
        "No lot of this species from region TM-1 is in hand, and no population is known that could give it: one"
        " must be found by 15 Feb 2028."
    )
    with pytest.raises(Conflict) as refused:
        try_fill(demo_session, line.id, today=today)
    assert str(refused.value).startswith("No seed is known that could be collected for this line")


def test_seed_whose_season_is_over_cannot_be_tried(demo_session: Session) -> None:
    line = line_of(demo_session, "Salix salviifolia", "Taralda gorge")
    fill = fill_of(demo_session, line, dt.date(2027, 3, 1))
    assert (fill.can_be_tried, fill.sentence) == (
        False,
        "No lot of this species from region GV-A is in hand; the season for collecting it ended on 7 Feb 2027.",
    )


def test_lines_promised_seed_under_one_permit_stay_within_it(demo_session: Session, today: dt.date) -> None:
    plan_id = plan_of(demo_session).id
    query = select(PlanLine).where(PlanLine.species_name == "Salix salviifolia", PlanLine.plan_id == plan_id)
    lines = demo_session.scalars(query).all()
    fills = read_fills(demo_session, plan_of(demo_session), lines, today=today)
    promised: dict[str, int] = {}
    for fill in fills.values():
        for part in fill.parts:
            promised[part.permit] = promised.get(part.permit, 0) + part.amount
    # The demo's permit for cuttings: 1,100 of this species are left on the day of the demo.
    assert promised["COL GV 2026/08"] == 1_100
    waiting = next(line for line in lines if line.id in fills)
    assert fill_of(demo_session, waiting, today).sentence == fills[waiting.id].sentence


def test_every_seed_that_is_named_whole_fills_its_line_and_nothing_is_written(
    demo_session: Session, today: dt.date
) -> None:
    before = rows_of(demo_session)
    tried = [
        try_fill(demo_session, line_of(demo_session, species, site).id, today=today)
        for species, site in (
            ("Salix salviifolia", "Taralda gorge"),
            ("Quercus suber", "Corvenda burnt slope"),
            ("Vitex agnus-castus", "Quelfar island"),
        )
    ]
    assert [one.before.status for one in tried] == [LineStatus.COLLECT] * 3
    assert [(one.fills, one.after.seeds_missing, one.after.shortfall) for one in tried] == [(True, 0, 0)] * 3
    assert [one.taken > 0 for one in tried] == [True] * 3
    assert (list(demo_session.new), list(demo_session.dirty)) == ([], [])
    assert rows_of(demo_session) == before


def test_a_line_whose_target_is_gone_is_not_tried(demo_session: Session, today: dt.date) -> None:
    line = line_of(demo_session, "Salix salviifolia", "Taralda gorge")
    demo_session.get_one(Target, line.target_id).archived_at = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
    with pytest.raises(Conflict) as refused:
        try_fill(demo_session, line.id, today=today)
    assert str(refused.value) == "The target of this line is not open any more. Make a new plan."
    with pytest.raises(NotFound):
        try_fill(demo_session, 0, today=today)


def test_what_holds_a_line_is_said(demo_session: Session) -> None:
    line = line_of(demo_session, "Celtis australis", "Guadorva greenway")
    told = read_held(demo_session, [line])[line.id]
    assert told[0].startswith("Lot CEAU-4223-2 is used up by other lines (")
    elevation = line_of(demo_session, "Acer monspessulanum", "Guadorva greenway")
    told = read_held(demo_session, [elevation])[elevation.id]
    assert " ".join(told) == (
        "The rule “Elevation” alone keeps lots away: without it 92 more ready plants would come of the seed in"
        " hand."
    )


def test_the_lines_that_lack_most_come_first(demo_session: Session) -> None:
    lines = shortest_lines(demo_session, plan_of(demo_session).id, limit=5)
    short = [line.shortfall for line in lines]
    assert short == sorted(short, reverse=True)
    assert [line.status == LineStatus.LATE for line in lines] == [False] * 5
