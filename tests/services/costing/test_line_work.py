"""The work of a plan line in hours, worked out by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from nursery.models import Draw, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.planning.work.times import WORKING_TIMES
from nursery.planning.work.words import Job
from nursery.services.costing.line_work import line_hours, plants_to_come, sowable


def phase(name: str, start: str, end: str) -> dict[str, Any]:
    return {"name": name, "start": start, "end": end, "wait_days": 0}


def line(**columns: Any) -> PlanLine:
    """Ten trays of 40 cells, two seeds a cell, from one lot: 300 ready plants of 360 expected."""
    values: dict[str, Any] = {
        "status": LineStatus.ON_TRACK, "method": Method.DIRECT, "seeds": 800, "seeds_missing": 0,
        "cells_sown": 400, "trays": 10, "seeds_per_cell": 2, "expected": 360.0, "ready_plants": 300,
        "plants_to_plant": 270, "sow_on": dt.date(2027, 2, 1),
        "phases": [
            phase("cold-stratify", "2027-01-04", "2027-02-01"), phase("emergence", "2027-02-01", "2027-03-01"),
            phase("growing", "2027-03-01", "2027-05-10"), phase("hardening", "2027-05-10", "2027-06-07"),
        ],
        "basis": {"cells_from_lots": 400, "rates": {"cull": [0.1, 20, "memory"]}},
        "draws": [Draw(lot_id=1, lot_code="L/1", seeds=800, cells=400)],
    }  # fmt: skip
    return PlanLine(**(values | columns))


def test_each_job_takes_its_amount_by_its_standard_time() -> None:
    """By hand: one lot withdrawn and stratified, looked at after 14 days; 400 cells sown and thinned.

    Ten trays counted three times, fed five times (70 days of growing), moved and hardened; 360 ÷ 0.9 = 400 plants
    graded, 270 sent.
    """
    found = line_hours([line()], WORKING_TIMES)
    assert dict(zip(found["job"], found["hours"], strict=True)) == pytest.approx({
        Job.WITHDRAW: 0.25, Job.STRATIFY: 0.5, Job.CHECK: 0.25, Job.SOW: 1.0, Job.THIN: 0.4, Job.COUNT: 3 * 0.15,
        Job.FEED: 5 * 0.02, Job.MOVE: 0.2, Job.HARDEN: 0.2, Job.GRADE: 1.6, Job.DISPATCH: 0.54,
    })  # fmt: skip


def test_a_line_short_of_seed_is_sown_as_far_as_seed_in_hand_goes() -> None:
    short = line(
        status=LineStatus.SHORT, seeds_missing=600, expected=90.0, basis={"cells_from_lots": 100, "rates": {}}
    )
    sown = sowable(short)
    assert (sown.seeds, sown.cells, sown.trays, sown.cells_missing) == (200, 100, 3, 0)


def test_seed_that_is_still_to_be_collected_is_sown_too() -> None:
    waiting = line(status=LineStatus.COLLECT, seeds_missing=600, basis={"cells_from_lots": 100, "rates": {}})
    sown = sowable(waiting)
    assert (sown.seeds, sown.cells, sown.trays, sown.cells_missing) == (800, 400, 10, 300)


def test_what_batches_give_already_is_no_work_of_the_line() -> None:
    covered = line(growing={"expected": 360.0}, seeds=0, cells_sown=0, trays=0, draws=[], phases=[])
    assert plants_to_come(covered) == 0.0
    assert line_hours([covered], WORKING_TIMES)["hours"].sum() == 0.0


def test_without_lines_there_is_no_work() -> None:
    assert len(line_hours([], WORKING_TIMES)) == 0
