from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from sqlalchemy import event, func, select, update
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import CollectionNeed, Draw, Lot, NeedPart, Plan, PlanLine, Species, Target
from nursery.models.plans import LineStatus
from nursery.planning.origin.words import NeedPurpose, NeedSource
from nursery.services.demo.dating import finished_day
from nursery.services.planning import (
    adopt_plan,
    compare_plans,
    current_plan,
    make_plan,
    newest_plan,
    plan_as_data,
)
from nursery.services.setup import set_up
from nursery.services.species import set_figure


@pytest.fixture
def demo(loaded_on: Callable[[dt.date], Session], today: dt.date) -> Session:
    return loaded_on(today)


def test_without_a_target_there_is_nothing_to_plan_and_nothing_is_written(
    session: Session, today: dt.date
) -> None:
    set_up(session, "Ana Seabra")
    with pytest.raises(Invalid) as refused:
        make_plan(session, "Ana Seabra", today=today)
    assert list(refused.value.errors) == ["targets"]
    assert session.scalar(select(func.count()).select_from(Plan)) == 0


def test_the_plan_takes_no_more_of_a_lot_than_it_holds(demo: Session, today: dt.date) -> None:
    plan = make_plan(demo, "Ana Seabra", today=today)
    taken = demo.execute(
        select(Lot.code, func.sum(Draw.milligrams), func.sum(Draw.seeds), Lot.amount_mg, Lot.pieces)
        .join(Lot, Lot.id == Draw.lot_id)
        .join(PlanLine, PlanLine.id == Draw.line_id)
        .where(PlanLine.plan_id == plan.id)
        .group_by(Lot.id)
    ).all()
    assert len(taken) > 30
    over = [
        code for code, mg, seeds, held, pieces in taken if (mg or 0) > (held or 0) or (pieces and seeds > pieces)
    ]
    assert over == []


def test_each_open_target_has_one_line_and_its_seeds_add_up(demo: Session, today: dt.date) -> None:
    plan = make_plan(demo, "Ana Seabra", today=today)
    data = plan_as_data(demo, plan)
    is_open = Target.archived_at.is_(None) & (Target.season > finished_day(today).year)
    open_targets = set(demo.scalars(select(Target.id).where(is_open)))
    assert {line["target"] for line in data["lines"]} == open_targets
    assert len(data["lines"]) == len(open_targets)
    wrong = [
        line["target"]
        for line in data["lines"]
        if line["seeds"] != sum(draw["seeds"] for draw in line["lots"]) + line["seeds_missing"]
    ]
    assert wrong == []
    by_lot = {lot["lot"]: lot["seeds"] for lot in data["lots"]}
    in_lines: dict[str, int] = {}
    for line in data["lines"]:
        for draw in line["lots"]:
            in_lines[draw["lot"]] = in_lines.get(draw["lot"], 0) + draw["seeds"]
    assert by_lot == in_lines


def test_needs_sum_up_what_their_lines_miss(demo: Session, today: dt.date) -> None:
    plan = make_plan(demo, "Ana Seabra", today=today)
    parts = select(NeedPart.need_id, func.sum(NeedPart.seeds)).group_by(NeedPart.need_id)
    needs = {need.id: need.seeds for need in demo.scalars(select(CollectionNeed))}
    assert needs == dict(demo.execute(parts).all())
    assert len(needs) > 5
    by_line = (
        select(NeedPart.line_id, func.sum(NeedPart.seeds), func.sum(NeedPart.plants))
        .join(NeedPart.need)
        .where(CollectionNeed.purpose == NeedPurpose.PLANTS)
        .group_by(NeedPart.line_id)
    )
    missing = select(PlanLine.id, PlanLine.seeds_missing, PlanLine.shortfall).where(
        PlanLine.plan_id == plan.id, PlanLine.status == LineStatus.COLLECT
    )
    rows = {tuple(row) for row in demo.execute(missing)}
    assert {tuple(row) for row in demo.execute(by_line)} == rows
    assert len(rows) > 5


def test_a_site_that_mixes_sources_has_a_need_of_each_it_lacks(demo: Session, today: dt.date) -> None:
    make_plan(demo, "Ana Seabra", today=today)
    found = demo.execute(
        select(CollectionNeed.source, CollectionNeed.purpose)
        .join(CollectionNeed.parts)
        .join(NeedPart.line)
        .where(PlanLine.site_name == "Corvenda burnt slope")
        .distinct()
    )
    assert {(source, purpose) for source, purpose in found} >= {
        (NeedSource.FAR, NeedPurpose.PLANTS), (NeedSource.FAR, NeedPurpose.SHARES),
    }  # fmt: skip


def test_the_contract_names_every_field(demo: Session, today: dt.date) -> None:
    asked = [
        "target", "site", "species", "season", "wanted", "plants_to_plant", "method", "container",
        "seeds_per_cell", "cells", "trays", "seeds", "grams", "lots", "collect_by", "pretreat_on", "sow_on",
        "ready_on", "plant_on", "expected", "p10", "p90", "probability", "shortfall", "problems",
    ]  # fmt: skip
    lines = plan_as_data(demo, make_plan(demo, "Ana Seabra", today=today))["lines"]
    line = next(line for line in lines if line["lots"])
    assert [field for field in asked if field not in line] == []
    assert set(line["lots"][0]) == {"lot", "seeds", "grams", "verdict", "source", "reasons", "decision"}
    assert [field for field in ("mix", "bottleneck") if field not in line] == []


def test_the_contract_says_who_let_a_lot_through_and_what_holds_a_line(demo: Session, today: dt.date) -> None:
    data = plan_as_data(demo, make_plan(demo, "Ana Seabra", today=today))
    reason = "The only wild pears of these hills: all trees that bore were visited"
    decided = [lot["decision"] for line in data["lines"] for lot in line["lots"] if lot["decision"]]
    assert [(one["kind"], one["person"]) for one in decided] == [("override", "Ana Seabra")]
    assert decided[0]["reason"].startswith(reason)
    assert [(one["site"], one["kind"]) for one in data["decisions"]] == [("Sovelha hillside", "override")]
    willows = next(line for line in data["lines"] if line["site"] == "Taralda gorge" and not line["lots"])
    assert willows["bottleneck"] == ["No cuttings of this species are in hand."]
    assert willows["mix"] is None


def test_nothing_changed_gives_the_kept_plan_and_a_change_gives_another(demo: Session, today: dt.date) -> None:
    first = make_plan(demo, "Ana Seabra", today=today)
    assert make_plan(demo, "Rui Vale", today=today) is first
    target = demo.scalars(select(Target).where(Target.plants.is_not(None), Target.archived_at.is_(None))).first()
    assert target is not None and target.plants is not None  # noqa: PT018
    target.plants *= 2
    second = make_plan(demo, "Ana Seabra", today=today)
    assert second.fingerprint != first.fingerprint
    differences = compare_plans(demo, first, second)
    changed = {difference.line.target_id: difference.changes for difference in differences}
    before, after = changed[target.id]["wanted"]
    assert after == 2 * before


def test_one_plan_at_a_time_is_adopted(demo: Session, today: dt.date) -> None:
    first = make_plan(demo, "Ana Seabra", today=today)
    second = make_plan(demo, "Ana Seabra", today=today + dt.timedelta(days=1))
    assert newest_plan(demo) is second
    adopt_plan(demo, "Ana Seabra", plan_id=first.id)
    assert current_plan(demo) is first
    adopt_plan(demo, "Rui Vale", plan_id=second.id)
    demo.expire_all()
    assert demo.scalars(select(Plan.id).where(Plan.is_adopted)).all() == [second.id]
    assert (second.adopted_by, first.is_adopted) == ("Rui Vale", False)


def test_planning_takes_the_same_number_of_statements_whatever_the_rows(demo: Session, today: dt.date) -> None:
    counted: list[str] = []
    engine = demo.get_bind()
    event.listen(engine, "before_cursor_execute", lambda *args: counted.append(args[2]))
    make_plan(demo, "Ana Seabra", today=today)
    reads = [statement for statement in counted if statement.lstrip().startswith("SELECT")]
    assert len(reads) == 43  # whether it is kept already is asked before and after the reckoning


def test_a_species_that_has_left_the_catalogue_is_left_out(demo: Session, today: dt.date) -> None:
    demo.execute(update(Species).where(Species.key == "quercus-suber").values(key="quercus-gone"))
    plan = make_plan(demo, "Ana Seabra", today=today)
    names = set(demo.scalars(select(PlanLine.species_name).where(PlanLine.plan_id == plan.id)))
    assert "Quercus rotundifolia" in names
    assert "Quercus suber" not in names


def test_a_change_of_one_species_moves_nothing_of_the_others(demo: Session, today: dt.date) -> None:
    first = make_plan(demo, "Ana Seabra", today=today)
    adopt_plan(demo, "Ana Seabra", plan_id=first.id)
    set_figure(demo, "Ana Seabra", key="quercus-suber", figure="seed.purity", value=0.49, reason="Weighed")

    second = make_plan(demo, "Ana Seabra", today=today)

    assert {difference.line.species_name for difference in compare_plans(demo, first, second)} == {"Quercus suber"}
