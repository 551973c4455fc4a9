"""Plan lines told to people: the story, the explanations, the sums, the table and the differences."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.models import Lot, Plan, PlanLine, Target
from nursery.models.plans import LineStatus
from nursery.services import records
from nursery.services.listing import ListQuery, read_page
from nursery.services.planning import make_plan, plan_as_data
from nursery.services.planning.lines import (
    chance_text,
    changed_rows,
    changes_since,
    describe_changes,
    draw_moves,
    explain_line,
    first_step,
    line_headings,
    line_rows,
    lines_by_status,
    lines_listing,
    plan_totals,
    read_line,
    read_mix,
    tell_line,
)
from nursery.services.planning.lines.tables import ORDER
from tests.databases import Kept

ANA = "Ana Seabra"
TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def planned(seasons: Callable[[dt.date], Kept], made_once: Callable[..., Kept]) -> Kept:
    """The demo season and its plan, to be copied."""

    def plan(session: Session) -> None:
        make_plan(session, ANA, today=TODAY, label="First")

    return made_once("plan-first", seasons(TODAY), plan)


@pytest.fixture
def database(planned: Kept, tmp_path: Path) -> str:
    return planned.copy(tmp_path)


@pytest.fixture
def demo(session: Session) -> Plan:
    return session.scalars(select(Plan).where(Plan.label == "First")).one()


def lines_of(session: Session, plan: Plan, status: LineStatus | None = None) -> list[PlanLine]:
    query = select(PlanLine).where(PlanLine.plan_id == plan.id).order_by(PlanLine.id)
    return list(session.scalars(query if status is None else query.where(PlanLine.status == status)))


def test_the_sums_are_those_of_the_lines_and_needs(session: Session, demo: Plan) -> None:
    data = plan_as_data(session, demo)
    totals = plan_totals(session, demo.id)
    lines = data["lines"]
    assert totals.whole.lines == len(lines) == sum(totals.whole.by_status.values())
    for name in ("plants_to_plant", "ready_plants", "trays", "seeds", "shortfall"):
        assert getattr(totals.whole, name) == sum(line[name] for line in lines)
    assert totals.whole.expected == pytest.approx(sum(line["expected"] for line in lines))
    assert totals.seeds_to_collect == sum(need["seeds"] for need in data["collect"] if need["grams"] is not None)
    assert totals.grams_to_collect == pytest.approx(sum(need["grams"] or 0 for need in data["collect"]))
    assert totals.cuttings_to_collect == sum(need["seeds"] for need in data["collect"] if need["grams"] is None)
    assert [sums.lines for sums in totals.seasons.values()] == [
        sum(line["season"] == season for line in lines) for season in ("2026/27", "2027/28", "2028/29", "2029/30")
    ]
    found = lines_by_status(session, [demo.id, 999])
    assert found[demo.id] == {status: count for status, count in totals.whole.by_status.items() if count}
    assert found[999] == {}


def test_every_number_shown_is_the_lines_own(session: Session, demo: Plan) -> None:
    for line in lines_of(session, demo):
        view = read_line(session, line.id)
        numbers = explain_line(view)
        shown = {key: number.value.replace(",", "") for key, number in numbers.items()}
        whole = ("wanted", "plants_to_plant", "ready_plants", "cells", "trays", "cells_sown", "seeds_per_cell")
        keys = [key for key in (*whole, "seeds", "seeds_missing", "shortfall") if key in shown]
        assert {key: shown[key] for key in keys} == {key: str(getattr(line, key)) for key in keys}
        assert shown["expected"] == f"{line.expected:.0f}"
        assert [number.key for number in numbers.values() if not (number.formula or number.source)] == []
        if line.grams is not None:
            assert view.grams_in_hand + view.grams_missing == pytest.approx(line.grams, abs=1e-6)


def test_inputs_that_are_figures_of_the_species_exist_in_the_catalogue(session: Session, demo: Plan) -> None:
    for line in lines_of(session, demo):
        view = read_line(session, line.id)
        assert view.entry is not None
        figures = {
            given.figure for number in explain_line(view).values() for given in number.inputs if given.figure
        }
        assert figures - set(view.entry.figure_table) == set()


def test_cells_sown_are_told_as_whole_trays_only_where_they_are(session: Session, demo: Plan) -> None:
    told = set()
    for line in lines_of(session, demo):
        if line.trays:
            full = line.cells_sown == line.trays * line.basis["cells_per_tray"]
            told.add((full, explain_line(read_line(session, line.id))["cells_sown"].formula))
    assert told == {
        (True, "Trays × cells in a tray."),
        (False, "As many cells of the trays as the seed of the lots fills; the last tray is not full."),
    }


def test_the_steps_follow_one_another_up_to_planting(session: Session, demo: Plan) -> None:
    for line in lines_of(session, demo):
        steps = tell_line(read_line(session, line.id))
        work = [step for step in steps if step.kind != "collect"]
        sown = [step.end for step in steps if step.kind == "sow"]
        if line.growing and line.growing["covered"]:
            assert (sown, line.trays) == ([], 0)
            continue
        assert sown == [line.sow_on]
        assert (work[0].start, work[-1].start) == (line.pretreat_on, line.plant_on)
        assert all(one.end <= two.start for one, two in itertools.pairwise(work))


def test_what_to_do_first_is_to_collect_then_to_pretreat_then_to_sow(session: Session, demo: Plan) -> None:
    line, need = next(
        (line, part.need)
        for line in lines_of(session, demo, LineStatus.COLLECT)
        for part in line.need_parts
        if line.pretreat_on < line.sow_on and part.need.closes_on < line.pretreat_on
    )
    view = read_line(session, line.id)
    steps = tell_line(view)
    kinds = []
    for day in (need.closes_on, line.sow_on - dt.timedelta(days=1), line.sow_on, line.plant_on):
        step = first_step(view, steps, day)
        assert step is not None
        kinds.append(step.kind)
    assert kinds == ["collect", "pretreatment", "pretreatment", "growth"]
    assert first_step(view, steps, line.plant_on + dt.timedelta(days=1)) is None


def test_a_late_line_has_no_first_step_but_ways_out(session: Session, demo: Plan, today: dt.date) -> None:
    late = lines_of(session, demo, LineStatus.LATE)
    assert late != []
    for line in late:
        view = read_line(session, line.id)
        assert first_step(view, tell_line(view), today) is None
        assert (view.faults != [], view.ways_out != []) == (True, True)


def test_a_short_line_sows_what_is_in_hand(session: Session, demo: Plan) -> None:
    views = [read_line(session, line.id) for line in lines_of(session, demo, LineStatus.SHORT)]
    view = next(view for view in views if view.draws)
    sow = next(step for step in tell_line(view) if step.kind == "sow")
    assert sow.facts[0] == f"{view.seeds_in_hand:,} of {view.line.seeds:,} seeds"
    assert sow.facts[2] == f"{view.line.basis['cells_from_lots']:,} of {view.line.cells_sown:,} cells"


def test_chances_are_never_told_as_certain() -> None:
    assert [chance_text(p) for p in (0.0, 0.004, 0.83, 0.99, 0.9999, 1.0)] == [
        "0 %",
        "under 1 %",
        "83 %",
        "99 %",
        "over 99 %",
        "over 99 %",
    ]


def test_a_line_that_is_not_there_is_said_so(session: Session) -> None:
    with pytest.raises(NotFound, match="no such plan line"):
        read_line(session, 999_999)


def test_the_file_has_every_field_of_every_line(session: Session, demo: Plan) -> None:
    rows = list(line_rows(session, demo.id, ListQuery(sort="target_id")))
    assert len(line_headings()) == len(ORDER)
    data = {line["target"]: line for line in plan_as_data(session, demo)["lines"]}
    assert len(rows) == len(data)
    for row in rows:
        cells: dict[str, Any] = dict(zip(ORDER, row, strict=True))
        line = data[cells["target_id"]]
        for field in (
            "site",
            "species",
            "season",
            "wanted",
            "trays",
            "seeds",
            "grams",
            "expected",
            "p10",
            "shortfall",
        ):
            assert cells[field] == line[field]
        assert cells["sow_on"].isoformat() == line["sow_on"]
        assert cells["problems"] == " ".join(line["problems"])
        assert [part.split(":")[0] for part in cells["lots"].split("; ") if part] == [
            draw["lot"] for draw in line["lots"]
        ]


def test_the_lots_of_a_file_are_read_together(
    session: Session, engine: Engine, demo: Plan, count_queries: Any
) -> None:
    session.flush()
    with count_queries(engine) as statements:
        rows = list(line_rows(session, demo.id, ListQuery()))
    assert len(rows) > 50
    # Species, own figures, batches, extractions, lines, lots, their draws, decisions; lines with what holds them,
    # and codes and users of the lots named there.
    assert len(statements) == 11


def test_lines_are_found_by_site_species_common_name_status_and_lot(session: Session, demo: Plan) -> None:
    def found(**asked: Any) -> set[int]:
        query = ListQuery(**asked)
        page = read_page(session, lines_listing(demo.id), query, where=(PlanLine.plan_id == demo.id,), size=500)
        return {row.id for row in page.rows}

    lines = lines_of(session, demo)
    drawn = next(line for line in lines if line.draws)
    lot = drawn.draws[0].lot_code
    assert found(q=lot) == {line.id for line in lines if lot in {draw.lot_code for draw in line.draws}}
    assert found(q=drawn.site_name) == {line.id for line in lines if line.site_name == drawn.site_name}
    assert found(q="sobreiro") == {line.id for line in lines if line.species_name == "Quercus suber"}
    assert found(filters={"status": "late"}) == {line.id for line in lines if line.status == LineStatus.LATE}
    assert found(filters={"season": "2028"}) == {line.id for line in lines if line.season == 2028}
    assert found(filters={"site": str(drawn.site_id)}) == {
        line.id for line in lines if line.site_id == drawn.site_id
    }
    assert found(filters={"season": "soon", "status": "??"}) == {line.id for line in lines}


def test_changes_after_the_plan_are_counted_by_record(session: Session, demo: Plan) -> None:
    assert changes_since(session, demo) == []
    lots = session.scalars(select(Lot).where(Lot.amount_mg.is_not(None)).limit(2)).all()
    for lot in (*lots, lots[0]):
        records.update(session, ANA, lot, {"amount_mg": (lot.amount_mg or 0) + 1}, version=lot.version)
    records.archive(session, ANA, session.scalars(select(Target)).first())
    session.flush()
    assert changes_since(session, demo) == ["2 lots", "1 target"]


def test_plans_differ_by_changed_and_gone_and_new_lines(session: Session, demo: Plan, today: dt.date) -> None:
    doubled, gone = session.scalars(
        select(Target).where(Target.plants > 100, Target.season >= today.year).order_by(Target.id).limit(2)
    ).all()
    before = doubled.plants
    assert before is not None
    records.update(session, ANA, doubled, {"plants": 2 * before}, version=doubled.version)
    records.archive(session, ANA, gone)
    second = make_plan(session, ANA, today=today, label="Second")

    found = describe_changes(session, demo, second)
    by_target = {change.difference.line.target_id: change for change in found.changes}
    assert (by_target[doubled.id].kind, by_target[gone.id].kind) == ("changed", "gone")
    assert ("Wanted", f"{before:,}", f"{2 * before:,}") in by_target[doubled.id].fields
    assert by_target[gone.id].fields[0][2] == ""
    assert found.counts["gone"] == 1
    assert sum(found.counts.values()) == len(found.changes)
    assert found.after.whole.lines == found.before.whole.lines - 1
    assert len(list(changed_rows(found.changes))) == sum(len(change.fields) for change in found.changes)
    back = describe_changes(session, second, demo)
    assert (back.counts["new"], back.counts["gone"]) == (1, 0)
    assert [old for change in found.changes for _label, old, new in change.fields if old == new] == []


def test_the_file_tells_verdicts_decisions_and_what_holds_a_line(session: Session, demo: Plan) -> None:
    rows = [dict(zip(ORDER, row, strict=True)) for row in line_rows(session, demo.id, ListQuery())]
    pears = next(row for row in rows if row["species"] == "Pyrus bourgaeana")
    told, reason = str(pears["origin"]).split(": The only wild pears")
    assert told.startswith("PYUR-3223-E: stop, local. Allowed despite a stop by Ana Seabra on ")
    assert reason.startswith(" of these hills")
    willows = [row for row in rows if (row["site"], row["species"]) == ("Taralda gorge", "Salix salviifolia")]
    assert [(row["origin"], row["held"]) for row in willows] == [("", "No cuttings of this species are in hand.")]


def test_the_mix_stands_beside_the_strategy(session: Session, demo: Plan) -> None:
    oaks = next(
        line
        for line in lines_of(session, demo)
        if (line.species_name, line.site_name) == ("Quercus suber", "Corvenda burnt slope")
    )
    mix = read_mix(oaks)
    assert mix is not None
    assert (mix.strategy, mix.tolerance, mix.crosses) == ("Composite", 0.05, True)
    assert [(share.label, share.asked) for share in mix.shares] == [("local", 0.6), ("near", 0.3), ("far", 0.1)]
    assert sum(share.given for share in mix.shares) == pytest.approx(1.0)
    assert mix.facts[2][1].startswith("at most ")
    willows = next(
        line for line in lines_of(session, demo) if line.site_name == "Taralda gorge" and not line.draws
    )
    assert read_mix(willows) is None


def test_moved_seed_is_told_from_target_to_target(session: Session, demo: Plan) -> None:
    same = draw_moves(session, demo, demo)
    assert (same.moves, same.stay == same.of) == ([], True)
    drawn = next(line for line in lines_of(session, demo) if line.draws)
    lots = {draw.lot_code: draw.seeds for draw in drawn.draws}
    target = session.get_one(Target, drawn.target_id)
    target.archived_at = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
    moved = draw_moves(session, demo, make_plan(session, ANA, today=TODAY))
    assert moved.of - moved.stay >= len(lots)
    left: dict[str, int] = {}
    for move in moved.moves:
        if move.before == f"{drawn.site_name}, 2027/28":
            left[move.lot_code] = left.get(move.lot_code, 0) + move.seeds
    assert {code: left[code] for code in lots} == lots
