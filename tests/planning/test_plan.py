from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import betabinom

from nursery.planning.plan import PlanResult, make_plan
from tests.planning.plan_builder import plan_inputs


def one(result: PlanResult) -> dict[str, Any]:
    assert len(result.lines) == 1
    return {str(key): value for key, value in result.lines.iloc[0].items()}


def season(year: int) -> dict[str, Any]:
    return {"season": year, "window_open": f"{year}-11-01", "window_close": f"{year + 1}-02-28"}


def codes(result: PlanResult, line: int = 0) -> list[str]:
    problems = result.problems
    return problems.loc[problems["line"] == line, "code"].tolist()


def drawn(result: PlanResult, line: int = 0) -> list[tuple[int, int]]:
    draws = result.draws[result.draws["line"] == line]
    return [(int(lot), int(seeds)) for lot, seeds in zip(draws["lot"], draws["seeds"], strict=True)]


def test_a_plain_line_is_worked_back_by_hand() -> None:
    # 200 survivors at year 1 with 80 % field survival: 250 to plant; nothing is lost elsewhere; trays of 10.
    # From 1 November: hardening 30 d → 2 October, growing 150 d → 5 May, emergence 30 d → 5 April, cold → 6 March.
    # The lot was tested on the day of sowing, so nothing ages in between.
    line = one(make_plan(plan_inputs([{"wanted": 200, "survival_year": 1}], [{"tested_on": "2027-04-05"}])))
    keys = ("plants_to_plant", "ready_plants", "cells", "trays", "cells_sown", "seeds", "grams")
    assert [line[key] for key in keys] == [250, 250, 250, 25, 250, 250, 2.5]
    days = [str(line[key].date()) for key in ("pretreat_on", "sow_on", "ready_on", "plant_on")]
    assert days == ["2027-03-06", "2027-04-05", "2027-11-01", "2027-11-01"]
    assert (line["status"], line["shortfall"], line["probability"]) == ("on-track", 0, 1.0)


def test_sowing_waits_for_an_allowed_month_and_the_wait_shows() -> None:
    line = one(make_plan(plan_inputs([{}], [{}], [{"sow_mask": 1 << 1}])))  # February only
    assert str(line["sow_on"].date()) == "2027-02-28"
    assert str(line["ready_on"].date()) == "2027-09-26"  # 210 days of growth; 36 days wait until 1 November
    assert str(line["plant_on"].date()) == "2027-11-01"


def test_one_uncertain_rate_gives_the_beta_binomial_of_scipy() -> None:
    # Only germination varies: Beta(0.7·40, 0.3·40); the lot was tested, so at least 40 trials.
    protocol = {"germination_mean": 0.7, "germination_weight": 20.0, "emergence_weight": np.inf}
    line = one(make_plan(plan_inputs([{"cells_per_tray": 1}], [{"germination": 0.7}], [protocol])))
    n = int(line["cells"])
    assert betabinom(n, 28, 12).sf(99) >= 0.8 > betabinom(n - 1, 28, 12).sf(99)
    assert line["probability"] == pytest.approx(betabinom(n, 28, 12).sf(99), abs=0.005)
    assert line["expected"] == pytest.approx(0.7 * n)


def test_a_lot_of_the_same_region_serves_and_another_does_not() -> None:
    result = make_plan(plan_inputs([{}], [{"region_code": "R2"}, {"region_code": "R1"}]))
    assert drawn(result) == [(1, 100)]


def test_a_site_without_region_takes_lots_of_its_basin() -> None:
    lots = [{"region_code": "", "basin": "B2"}, {"region_code": "R7", "basin": "B1"}]
    result = make_plan(plan_inputs([{"region_code": "", "basin": "B1"}], lots))
    assert drawn(result) == [(1, 100)]


def test_a_site_without_any_origin_gets_no_lot_and_says_why() -> None:
    result = make_plan(plan_inputs([{"region_code": "", "basin": ""}], [{"region_code": "", "basin": ""}]))
    assert drawn(result) == []
    assert "no-origin" in codes(result)


def test_the_nearest_lot_comes_first() -> None:
    result = make_plan(plan_inputs([{}], [{"latitude": 41.0}, {"latitude": 40.1}]))
    assert drawn(result) == [(1, 100)]


def test_a_perishable_lot_comes_before_a_nearer_one_that_keeps() -> None:
    # The far lot was tested three years before the other; with a life of 1,300 days it will be past it in a year.
    lots = [{"latitude": 40.0}, {"latitude": 41.0, "tested_on": "2024-01-01", "collected_on": "2023-10-01"}]
    result = make_plan(plan_inputs([{"cells_per_tray": 1}], lots, [{"life_days": 1300.0}]))
    assert drawn(result)[0][0] == 1


def test_seed_that_cannot_live_until_sowing_is_not_drawn() -> None:
    result = make_plan(plan_inputs([{}], [{}], [{"life_days": 100.0}]))  # sowing is 155 days after the test
    assert drawn(result) == []


def test_a_lot_that_its_storage_killed_is_left_out_and_named() -> None:
    lots: list[dict[str, Any]] = [
        {"is_lost": True, "seeds": 500}, {"seeds": 1000}, {"is_lost": True, "seeds": 70, "region_code": "R2"},
    ]  # fmt: skip

    result = make_plan(plan_inputs([{}], lots))

    assert drawn(result) == [(1, 100)]
    found = result.problems[result.problems["code"] == "killed-in-store"]
    assert found[["line", "number", "text"]].to_numpy().tolist() == [[0, 500.0, "1"]]


def test_killed_seed_of_other_origins_is_not_offered_as_a_way_out() -> None:
    result = make_plan(plan_inputs([{}], [{"is_lost": True, "seeds": 70, "region_code": "R2"}]))

    assert (drawn(result), codes(result)) == ([], ["season-over", "earliest-season", "buy-in"])


def test_a_lot_never_gives_more_than_it_holds_and_the_rest_is_to_collect() -> None:
    # Sowing begins in March 2027; September and October 2026 are over, so nothing can be collected in time.
    result = make_plan(plan_inputs([{}], [{"seeds": 64}]))
    line = one(result)
    assert drawn(result) == [(0, 64)]
    assert (line["seeds_missing"], line["shortfall"], line["status"]) == (36, 36, "short")
    assert "season-over" in codes(result)
    assert "earliest-season" in codes(result)


def test_what_can_still_be_collected_becomes_a_need() -> None:
    lines = [season(2028), {**season(2029), "wanted": 50}]
    result = make_plan(plan_inputs(lines, [{"seeds": 60}]))
    assert result.lines["status"].tolist() == ["collect", "collect"]
    needs = result.needs
    assert needs["seeds"].tolist() == [40, 50]
    assert needs["grams"].tolist() == [0.4, 0.5]
    assert needs["fruit_kg"].tolist() == pytest.approx([0.0008, 0.001])
    assert [str(day.date()) for day in needs["opens_on"]] == ["2027-09-01", "2028-09-01"]
    assert [str(day.date()) for day in needs["closes_on"]] == ["2027-10-31", "2028-10-31"]
    assert needs["mothers"].tolist() == [30, 30]
    assert result.need_parts.to_dict("list") == {
        "need": [0, 1], "line": [0, 1], "seeds": [40, 50], "plants": [40, 50],
    }  # fmt: skip
    assert set(needs["source"]) | set(needs["purpose"]) == {"region", "plants"}


def test_priority_decides_who_gets_the_last_seed_and_then_the_season() -> None:
    lines = [
        {"priority": 1, **season(2028)},
        {"priority": 3, **season(2027)},
        {"priority": 3, **season(2028)},
    ]
    result = make_plan(plan_inputs(lines, [{"seeds": 150}]))
    assert [drawn(result, line) for line in range(3)] == [[(0, 100)], [(0, 50)], []]


def test_a_second_lot_fills_what_the_first_leaves() -> None:
    result = make_plan(plan_inputs([{}], [{"seeds": 37}, {"seeds": 80, "latitude": 41.0}]))
    assert dict(drawn(result)) == {0: 37, 1: 63}
    assert one(result)["trays"] == 10


def test_one_farther_lot_that_suffices_is_drawn_rather_than_two() -> None:
    result = make_plan(plan_inputs([{}], [{"seeds": 37}, {"latitude": 41.0}]))
    assert drawn(result) == [(1, 100)]


def test_of_two_lots_that_suffice_the_nearer_is_drawn() -> None:
    result = make_plan(plan_inputs([{}], [{"latitude": 41.0}, {}]))
    assert drawn(result) == [(1, 100)]


def test_a_late_line_says_why_when_it_could_be_and_what_would_rescue_it() -> None:
    # 600 days of growth cannot be had by February 2028; the short way begins 240 days before planting.
    long = (("cold-stratify", 30), ("emergence", 30), ("growing", 500), ("hardening", 40))
    result = make_plan(plan_inputs([{}], [{}], [{"phases": long}, {"key": "short"}]))
    line = one(result)
    assert (line["status"], line["expected"], line["shortfall"], drawn(result)) == ("late", 0.0, 100, [])
    assert codes(result) == ["late", "rescue-protocol", "earliest-season", "buy-in"]
    found = result.problems.set_index("code")
    assert found.loc["rescue-protocol", "text"] == "short"
    assert found.loc["earliest-season", "number"] == 2028


def test_a_line_too_late_for_the_first_day_is_planted_later_in_its_window() -> None:
    result = make_plan(plan_inputs([{}], [{}], today="2027-04-10"))
    line = one(result)
    # Sowing in April at the latest, but 30 days of cold from 10 April end on 10 May: no day of the window works.
    assert line["status"] == "late"
    result = make_plan(plan_inputs([{}], [{}], [{"sow_mask": 0}], today="2027-04-10"))
    line = one(result)
    assert (line["status"], codes(result)) == ("on-track", ["later-in-window"])
    # The first weekly step from 1 November whose 240 days before lie on or after 10 April.
    assert str(line["plant_on"].date()) == "2027-12-06"


def test_a_pinned_day_is_kept_even_outside_the_window_and_said() -> None:
    result = make_plan(plan_inputs([{"pinned_day": "2028-04-01"}], [{}]))
    assert str(one(result)["plant_on"].date()) == "2028-04-01"
    assert codes(result) == ["outside-window"]


def test_acorns_cannot_wait_for_the_season_after_next() -> None:
    lines = [season(2028)]
    protocol = {"life_days": 150.0, "collect_mask": 1 << 10 | 1 << 11, "sow_mask": 1 << 11 | 1 << 0}
    result = make_plan(plan_inputs(lines, [{"tested_on": "2026-11-01"}], [protocol]))
    line = one(result)
    assert (drawn(result), line["status"]) == ([], "collect")
    assert str(line["collect_by"].date()) == "2027-12-31"  # the winter before sowing, not this one


def test_cuttings_are_counted_not_weighed_and_come_from_cuttings_only() -> None:
    protocol = {
        "method": "cuttings",
        "is_cuttings": True,
        "tsw_g": 0.0,
        "collect_mask": 1 << 0,
        "life_days": 300.0,
    }
    result = make_plan(plan_inputs([{}], [{"is_cuttings": False}, {"is_cuttings": True, "seeds": 70}], [protocol]))
    assert drawn(result) == [(1, 70)]
    assert np.isnan(one(result)["grams"])
    assert result.draws["milligrams"].isna().all()
    assert result.needs["mothers"].tolist() == [30]
    assert result.needs["grams"].isna().all()


def test_presprouted_and_pricked_out_stock_take_more_seeds_than_cells() -> None:
    rates = {"germination_mean": 0.5, "emergence_mean": 0.8}
    protocols = [{"method": "presprouted", **rates}, {"method": "pricked-out", "species_id": 2, **rates}]
    lots = [{"species_id": n, "germination": 0.5, "is_tested": False, "tested_on": "2027-04-05"} for n in (1, 2)]
    result = make_plan(plan_inputs([{}, {"species_id": 2, "protocol_row": 1}], lots, protocols))
    cells = result.lines["cells_sown"].to_numpy()
    assert result.lines["seeds"].tolist() == [2 * cells[0], np.ceil(cells[1] / 0.4)]


def test_a_bed_is_counted_in_seeds_and_needs_no_trays() -> None:
    line = one(make_plan(plan_inputs([{"cells_per_tray": 0}], [{}], [{"method": "bareroot"}])))
    assert (line["cells"], line["trays"], line["seeds"]) == (0, 0, 100)


def test_spare_trays_are_added_once_a_line() -> None:
    result = make_plan(plan_inputs([{}], [{"seeds": 37}, {"latitude": 41.0}], spare_trays=2))
    assert (one(result)["trays"], one(result)["seeds"]) == (12, 120)


def test_equal_inputs_give_equal_plans() -> None:
    lines = [{"wanted": n * 37, "priority": n % 5 + 1} for n in range(1, 30)]
    lots = [{"seeds": 300, "latitude": 40 + n / 10, "germination": 0.5 + n / 50} for n in range(20)]
    first, second = (make_plan(plan_inputs(lines, lots)) for _ in range(2))
    pd.testing.assert_frame_equal(first.lines, second.lines)
    pd.testing.assert_frame_equal(first.draws, second.draws)


@settings(max_examples=25, deadline=None)
@given(
    lines=st.lists(
        st.fixed_dictionaries(
            {
                "wanted": st.integers(0, 3000),
                "priority": st.integers(1, 5),
                "region_code": st.sampled_from(["R1", "R2", ""]),
                "seeds_per_cell": st.integers(0, 4),
                "cells_per_tray": st.sampled_from([1, 28, 104]),
            }
        ),
        min_size=1,
        max_size=8,
    ),
    lots=st.lists(
        st.fixed_dictionaries(
            {
                "seeds": st.integers(0, 4000),
                "germination": st.floats(0.05, 1.0),
                "region_code": st.sampled_from(["R1", "R2"]),
                "purity": st.floats(0.3, 1.0),
                "tsw_g": st.floats(0.05, 4000.0),
            }
        ),
        max_size=6,
    ),
    spare=st.integers(0, 2),
)
def test_no_lot_is_overdrawn_and_every_line_adds_up(lines: list[Any], lots: list[Any], spare: int) -> None:
    rates = {"emergence_mean": 0.9, "establishment_mean": 0.85, "cull_mean": 0.1}
    weights = {
        f"{rate}_weight": 20.0 for rate in ("germination", "emergence", "establishment", "hardening", "cull")
    }
    sites = [{**line, "site_id": number} for number, line in enumerate(lines)]
    inputs = plan_inputs(sites, lots, [{**rates, **weights}], spare_trays=spare)
    result = make_plan(inputs)
    given_out = result.draws.groupby("lot")["seeds"].sum().reindex(range(len(lots)), fill_value=0)
    assert (given_out.to_numpy() <= inputs.lots["seeds"].to_numpy()).all()
    held_mg = np.ceil(inputs.lots["seeds"] * inputs.lots["tsw_g"] / inputs.lots["purity"])
    given_mg = result.draws.groupby("lot")["milligrams"].sum().reindex(range(len(lots)), fill_value=0)
    assert (given_mg.to_numpy() <= held_mg.to_numpy()).all()
    per_line = result.draws.groupby("line")["seeds"].sum().reindex(range(len(lines)), fill_value=0)
    assert (per_line.to_numpy() + result.lines["seeds_missing"] == result.lines["seeds"]).all()
    sown, cells_per_tray = result.lines["cells_sown"], inputs.lines["cells_per_tray"]
    assert (result.lines["trays"] == np.ceil(sown / cells_per_tray)).all()
    in_order = (result.lines["status"] == "on-track") & (inputs.lines["wanted"] > 0)
    assert (result.lines["probability"][in_order] >= inputs.lines["assurance"][in_order] - 0.005).all()
    region_of_draw = inputs.lines["region_code"].to_numpy()[result.draws["line"]]
    assert (region_of_draw == inputs.origin.lots["region_code"].to_numpy()[result.draws["lot"]]).all()


def test_a_spare_tray_that_the_lot_cannot_fill_is_left_out() -> None:
    # 100 cells needed in trays of 10, two spare trays wished for, but seed for 114 cells: one spare tray is sown.
    line = one(make_plan(plan_inputs([{}], [{"seeds": 114, "tested_on": "2027-04-05"}], spare_trays=2)))
    assert (line["trays"], line["cells_sown"], line["seeds"], line["status"]) == (11, 110, 110, "on-track")
