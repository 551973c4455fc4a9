"""Batches in a new plan: they reduce what is sown, count in every share, and stay where they are."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery.planning.growing.forecast import Starts, outlook, together
from nursery.planning.origin.strategies import StrategyKind, Terms
from nursery.planning.plan import make_plan
from nursery.planning.plan_growing import CLOSE, PART_COLUMNS, PlanGrowing
from nursery.planning.plan_inputs import PlanInputs
from tests.planning.plan_builder import LOT, ORIGIN, plan_inputs

#: A rate that varies, so that there is a range.
UNSURE = {"establishment_mean": 0.8, "establishment_weight": 20.0}


def with_batches(
    inputs: PlanInputs, batches: list[dict[str, Any]], lots: list[dict[str, Any]] = [], sent: dict[int, int] = {}  # noqa: B006 -- read only
) -> PlanInputs:  # fmt: skip
    """Batches of ``start`` plants with one rate (mean and weight) ahead, each of a ``lot`` for a ``line``.

    ``lots`` are those behind the batches; without any they come from the first lot of the plan.
    """
    count = len(inputs.lines)
    rows = [{"line": 0, "lot": 0, "start": 100, "mean": 1.0, "weight": np.inf, **row} for row in batches]
    table = pd.DataFrame(rows, columns=["line", "lot", "start", "mean", "weight"])
    found = outlook(
        Starts(
            table["start"].to_numpy(np.int64), np.zeros(len(rows)), np.zeros(len(rows)),
            table[["mean"]].to_numpy(float), table[["weight"]].to_numpy(float), np.ones(len(rows), np.int64),
        )
    )  # fmt: skip
    out = np.array([sent.get(line, 0) for line in range(count)])
    sums = together(found, table["line"].to_numpy(np.int64), count, out)
    parts = table.assign(plants=found.expected).groupby(["line", "lot"], as_index=False)["plants"].sum()
    some = np.isin(np.arange(count), table["line"]) | (out > 0)
    day = np.full(count, np.datetime64("NaT", "D"))
    behind = [
        {**LOT, **ORIGIN, "population_id": n + 1, "lot_id": n + 1, **row} for n, row in enumerate(lots or [{}])
    ]
    growing = PlanGrowing(
        parts=parts[list(PART_COLUMNS)],
        lots=pd.DataFrame(behind, columns=["lot_id", *inputs.origin.lots.columns]),
        expected=sums.expected,
        levels=sums.levels,
        sown_on=np.where(some, np.datetime64("2026-03-01"), day),
        ready_on=np.where(some, np.datetime64("2027-10-01"), day),
    )
    return replace(inputs, growing=growing)


def test_what_grows_is_not_sown_again() -> None:
    plain = plan_inputs([{"wanted": 100}], [{}])
    line = make_plan(with_batches(plain, [{"start": 60}])).lines.iloc[0]
    assert (line["cells"], line["trays"], line["seeds"]) == (40, 4, 40)
    assert (line["probability"], line["shortfall"]) == (pytest.approx(0.96, abs=0.005), 0)
    assert line["expected"] == pytest.approx(100, abs=0.1)
    assert (line["status"], line["is_covered"]) == ("on-track", False)


def test_a_line_that_is_covered_sows_nothing_and_is_never_late() -> None:
    too_late = {"wanted": 100, "window_open": "2027-01-10", "window_close": "2027-01-20"}
    plain = plan_inputs([too_late], [{}])
    assert make_plan(plain).lines.iloc[0]["status"] == "late"
    found = make_plan(with_batches(plain, [{"start": 100}]))
    line = found.lines.iloc[0]
    assert (line["status"], line["is_covered"]) == ("on-track", True)
    assert (line["seeds"], line["trays"], line["seeds_missing"], line["shortfall"]) == (0, 0, 0, 0)
    assert line["sow_on"] == pd.Timestamp("2026-03-01")
    assert len(found.draws) == len(found.needs) == 0
    assert found.problems["code"].tolist() == ["later-in-window", "grown-late"]


def test_a_line_that_is_late_for_the_rest_counts_what_grows() -> None:
    too_late = {"wanted": 100, "window_open": "2027-01-10", "window_close": "2027-01-20"}
    line = make_plan(with_batches(plan_inputs([too_late], [{}]), [{"start": 70}])).lines.iloc[0]
    assert (line["status"], line["shortfall"], line["expected"], line["probability"]) == ("late", 30, 70.0, 0.0)


def test_plants_sent_out_count_in_full() -> None:
    plain = plan_inputs([{"wanted": 100}], [{}])
    line = make_plan(with_batches(plain, [{"start": 30}], sent={0: 50})).lines.iloc[0]
    assert line["cells"] == 20
    assert line["expected"] == pytest.approx(100, abs=0.1)


def test_no_seed_is_taken_from_store_for_what_grows() -> None:
    plain = plan_inputs([{"wanted": 100}, {"wanted": 100}], [{"seeds": 140}])
    found = make_plan(with_batches(plain, [{"line": 1, "start": 60}]))
    assert found.draws.groupby("line")["seeds"].sum().tolist() == [100, 40]
    assert found.lines["status"].tolist() == ["on-track", "on-track"]


def composite(**values: Any) -> Terms:
    return Terms(kind=StrategyKind.COMPOSITE, shares={"local": 0.5, "far": 0.5}, tolerance=0.02, **values)


def test_shares_of_the_mix_count_what_grows() -> None:
    # 50 local plants grow: all that is sown still comes from afar.
    far = {"region_code": "R9", "latitude": 41.5, "population_id": 2}
    plain = plan_inputs([{"wanted": 100}], [{}, far], strategies={1: composite()})
    found = make_plan(with_batches(plain, [{"start": 50}]))
    assert found.draws[["lot", "seeds"]].to_numpy().tolist() == [[1, 50]]
    mix = found.mixes.iloc[0]
    assert mix["populations"] == 2
    assert mix[["plants", "local", "far"]].tolist() == pytest.approx([100, 0.5, 0.5], rel=1e-3)


def test_the_lot_that_grows_brings_its_mothers_once() -> None:
    plain = plan_inputs([{"wanted": 100}], [{}])
    same = make_plan(with_batches(plain, [{"start": 50}])).mixes.iloc[0]
    assert same["effective_mothers"] == pytest.approx(50.0)
    other = make_plan(with_batches(plain, [{"start": 50}], [{"lot_id": 99, "population_id": 7}])).mixes.iloc[0]
    assert other["effective_mothers"] == pytest.approx(100.0, rel=1e-3)
    assert (same["populations"], other["populations"]) == (1, 2)


def test_a_plan_without_batches_comes_out_as_before() -> None:
    lines = [{"wanted": 137, "assurance": 0.9}, {"wanted": 45, "season": 2028, "priority": 1}]
    plain = plan_inputs(lines, [{"seeds": 150}, {"latitude": 40.2}], [UNSURE])
    one, other = make_plan(plain), make_plan(with_batches(plain, []))
    pd.testing.assert_frame_equal(one.lines, other.lines)
    pd.testing.assert_frame_equal(one.draws, other.draws)
    pd.testing.assert_frame_equal(one.mixes, other.mixes)


def test_a_batch_that_was_sown_for_its_line_by_the_plan_covers_it() -> None:
    """Reckoned again the day after it is sown, nothing more is asked for."""
    plain = plan_inputs([{"wanted": 400, "cells_per_tray": 1}], [{}], [UNSURE])
    sown = make_plan(plain).lines.iloc[0]
    again = make_plan(
        with_batches(plain, [{"start": int(sown["cells_sown"]), "mean": 0.8, "weight": 20.0}])
    ).lines.iloc[0]
    assert (again["is_covered"], again["seeds"]) == (True, 0)
    assert again["probability"] == pytest.approx(sown["probability"], abs=0.01)
    assert again["expected"] == pytest.approx(sown["expected"], rel=2e-3)


@settings(max_examples=40, deadline=None)
@given(
    wanted=st.integers(1, 400),
    starts=st.lists(st.integers(0, 300), max_size=3),
    assurance=st.sampled_from([0.5, 0.8, 0.95]),
    sent=st.integers(0, 50),
)
def test_the_line_in_all_holds_with_the_chance_asked_for(
    wanted: int, starts: list[int], assurance: float, sent: int
) -> None:
    plain = plan_inputs([{"wanted": wanted, "assurance": assurance, "cells_per_tray": 1}], [{}], [UNSURE])
    batches = [{"start": start, "mean": 0.9, "weight": 30.0} for start in starts]
    inputs = with_batches(plain, batches, sent={0: sent})
    line = make_plan(inputs).lines.iloc[0]
    assert line["probability"] >= assurance - CLOSE - 0.005
    assert line["p10"] <= line["p90"]
    held = int(inputs.growing.secured(np.array([assurance]))[0]) if inputs.growing else 0
    assert line["is_covered"] == (held >= wanted)
    # Brute force of comonotone quantiles: at each level what both give.
    if line["is_covered"] and inputs.growing:
        chance = float((inputs.growing.levels[0] >= wanted).mean())
        assert line["probability"] == pytest.approx(chance, abs=0.006)
    alone = make_plan(plain_rest(plain, wanted - held)).lines.iloc[0] if held < wanted else None
    if alone is not None:
        assert line["seeds"] == alone["seeds"]
        assert line["expected"] == pytest.approx(alone["expected"] + sent + 0.9 * sum(starts))


def plain_rest(inputs: PlanInputs, wanted: int) -> PlanInputs:
    """The same plan for fewer plants."""
    return replace(inputs, lines=inputs.lines.assign(wanted=wanted))


def test_what_grows_follows_its_line_when_lines_are_chosen() -> None:
    plain = plan_inputs([{"wanted": 100}, {"wanted": 90}, {"wanted": 80}], [{}])
    some = with_batches(plain, [{"line": 2, "start": 30}, {"line": 0, "start": 10}]).only(np.array([2, 1]))
    found = make_plan(some).lines
    assert found["cells"].tolist() == [50, 90]
