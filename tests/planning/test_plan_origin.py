"""What rules, strategies and decisions make of a plan: who draws which lot, and what holds a shortfall."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from nursery.planning.origin.rule_table import RULES
from nursery.planning.origin.strategies import PRESETS, Terms
from nursery.planning.origin.words import Rule, Source, StrategyKind
from nursery.planning.plan import PlanResult, make_plan
from tests.planning.plan_builder import plan_inputs

#: A site in region R1, basin B1; lots of the same, of one of the two, and of neither.
SITE: dict[str, Any] = {"region_code": "R1", "basin": "B1"}
LOCAL: dict[str, Any] = {"region_code": "R1", "basin": "B1"}
NEAR: dict[str, Any] = {"region_code": "R2", "basin": "B1"}
FAR: dict[str, Any] = {"region_code": "R3", "basin": "B3"}


def drawn(result: PlanResult) -> dict[int, int]:
    """Seeds by lot."""
    return {int(lot): int(seeds) for lot, seeds in zip(result.draws["lot"], result.draws["seeds"], strict=True)}


def shares(result: PlanResult, line: int = 0) -> dict[str, float]:
    """Shares of the line's plants by source."""
    row = result.mixes.iloc[line]
    return {source.value: round(float(row[source.value]), 3) for source in Source}


def relief(result: PlanResult) -> list[tuple[Any, ...]]:
    """What holds the first line."""
    found = result.relief[result.relief["line"] == 0]
    return [(row.code, None if row.code == "no-lot" else row.number, row.text) for row in found.itertuples()]


def problems(result: PlanResult) -> set[str]:
    return set(result.problems.loc[result.problems["line"] == 0, "code"])


def test_a_composite_site_gets_its_shares_side_by_side() -> None:
    result = make_plan(
        plan_inputs(
            [{**SITE, "wanted": 1000}], [LOCAL, NEAR, FAR], strategies={1: PRESETS[StrategyKind.COMPOSITE]}
        )
    )
    assert shares(result) == pytest.approx({"local": 0.6, "near": 0.3, "far": 0.1, "climate": 0.0}, abs=0.06)
    assert set(drawn(result)) == {0, 1, 2}
    assert not {code for code in problems(result) if code.startswith("share-")}


def test_without_a_strategy_another_region_is_not_drawn() -> None:
    result = make_plan(plan_inputs([{**SITE, "wanted": 1000}], [NEAR, FAR]))
    assert drawn(result) == {}
    assert result.lines.iloc[0]["status"] == "short"


def test_a_missing_source_does_not_keep_the_site_empty_but_is_told() -> None:
    result = make_plan(
        plan_inputs([{**SITE, "wanted": 1000}], [LOCAL], strategies={1: PRESETS[StrategyKind.COMPOSITE]})
    )
    assert result.lines.iloc[0]["status"] == "on-track"
    assert {"share-local", "share-near", "share-far"} - problems(result) == {"share-far"} - problems(result)
    assert {"share-local", "share-near"} <= problems(result)


def test_a_strict_site_refuses_its_region_from_another_basin() -> None:
    lots = [{"region_code": "R1", "basin": "B2"}, LOCAL]
    strict = make_plan(plan_inputs([SITE], lots, strategies={1: PRESETS[StrategyKind.STRICT]}))
    assert set(drawn(strict)) == {1}


def test_an_admixture_draws_three_populations_none_above_its_cap() -> None:
    lots = [{**LOCAL, "seeds": 5000, "population_id": number} for number in (1, 2, 3, 4)]
    result = make_plan(
        plan_inputs([{**SITE, "wanted": 900}], lots, strategies={1: PRESETS[StrategyKind.ADMIXTURE]})
    )
    assert result.mixes.iloc[0]["populations"] >= 3
    assert result.mixes.iloc[0]["largest_population"] <= 0.4 + 0.02


def test_effective_mothers_of_a_mix_follow_the_inverse_sum() -> None:
    # Two lots worth 20 mothers each, asked for 30: 1/N = 0.5²/20 + 0.5²/20, N = 40 (equal halves).
    lots = [{**LOCAL, "effective_mothers": 20.0, "largest_family": 0.05} for _ in range(2)]
    terms = Terms(least_mothers=30.0)
    result = make_plan(plan_inputs([{**SITE, "wanted": 1000}], lots, strategies={1: terms}))
    row = result.mixes.iloc[0]
    first = row[["local"]].item()
    part = result.draws["units"].to_numpy() / result.draws["units"].sum()
    assert first == 1.0
    assert row["effective_mothers"] == pytest.approx(1 / ((part**2).sum() / 20))
    assert row["effective_mothers"] >= 30 * (1 - 0.02)


def test_without_the_wish_one_lot_serves_although_it_is_worth_few_mothers() -> None:
    lots = [{**LOCAL, "effective_mothers": 20.0, "largest_family": 0.05} for _ in range(2)]
    assert len(drawn(make_plan(plan_inputs([{**SITE, "wanted": 1000}], lots)))) == 1


def test_a_lot_without_a_caution_is_drawn_before_a_nearer_one_with_one() -> None:
    doubtful = {**LOCAL, "effective_mothers": 20.0}  # caution below 30
    sound = {**LOCAL, "latitude": 40.3}
    assert set(drawn(make_plan(plan_inputs([SITE], [doubtful, sound])))) == {1}


def decision(kind: str, **values: Any) -> dict[str, Any]:
    return {
        "decision_id": 7, "kind": kind, "lot_id": 1, "site_id": 1, "target_id": 0, "plants": np.nan, **values,
    }  # fmt: skip


def test_a_forbidden_lot_is_not_drawn_and_says_what_it_would_give() -> None:
    result = make_plan(plan_inputs([SITE], [LOCAL], decisions=[decision("forbid")]))
    assert drawn(result) == {}
    assert relief(result) == [("forbidden", 100.0, "1")]


def test_an_override_lets_a_stopped_lot_in_and_is_kept_with_the_draw() -> None:
    result = make_plan(plan_inputs([SITE], [FAR], decisions=[decision("override")]))
    assert drawn(result) == {0: 100}
    assert result.draws[["verdict", "decision_id"]].iloc[0].tolist() == [2, 7]
    assert [reason["rule"] for reason in result.draws["reasons"].iloc[0]][:1] == ["region"]


def test_a_lot_without_an_override_goes_before_one_with_it() -> None:
    result = make_plan(plan_inputs([SITE], [FAR, {**LOCAL, "latitude": 42.0}], decisions=[decision("override")]))
    assert set(drawn(result)) == {1}


def test_a_pin_draws_its_lot_although_a_nearer_one_suffices() -> None:
    lots = [{**LOCAL, "latitude": 42.0}, LOCAL]
    result = make_plan(plan_inputs([SITE], lots, decisions=[decision("pin", target_id=1, plants=40)]))
    assert drawn(result)[0] >= 40


def test_a_lot_on_hold_is_left_out_whatever_the_rules_say_of_permits() -> None:
    result = make_plan(plan_inputs([SITE], [{**LOCAL, "is_held": True}]))
    assert drawn(result) == {}
    assert ("held", 1.0, "") in relief(result)


def test_seed_stays_where_the_plan_in_force_has_it() -> None:
    lots = [{**LOCAL, "latitude": 40.2}, LOCAL]
    plain = make_plan(plan_inputs([SITE], lots))
    again = make_plan(plan_inputs([SITE], lots, before=[{"target_id": 1, "lot_id": 1, "plants": 100.0}]))
    assert (set(drawn(plain)), set(drawn(again))) == ({1}, {0})


def test_a_shortfall_names_the_rule_that_keeps_the_seed_away_and_what_lifting_it_gives() -> None:
    high = {**LOCAL, "elevation_m": 900.0, "seeds": 60}
    inputs = plan_inputs([SITE], [high])
    inputs.origin.sites["elevation_m"] = 300.0
    assert relief(make_plan(inputs)) == [("rule", 60.0, "elevation")]
    assert RULES.index(Rule.ELEVATION) >= 0


def test_a_shortfall_names_the_lot_that_others_use_up() -> None:
    lines = [{**SITE, "priority": 1, "wanted": 80, "site_id": 2}, {**SITE, "priority": 2, "wanted": 50}]
    result = make_plan(plan_inputs(lines, [{**LOCAL, "seeds": 100}]))
    assert result.relief[["line", "code", "text"]].to_numpy().tolist() == [[1, "used-up", "1"]]
    assert result.relief["number"].tolist() == [80.0]


def test_a_shortfall_without_any_lot_of_the_species_says_so() -> None:
    assert relief(make_plan(plan_inputs([SITE]))) == [("no-lot", None, "")]


def test_a_trial_of_the_named_seed_fills_the_shortfall() -> None:
    short = make_plan(plan_inputs([SITE], [{**LOCAL, "seeds": 30}]))
    missing = int(short.lines.iloc[0]["seeds_missing"])
    assert short.lines.iloc[0]["status"] == "short"
    trial = make_plan(plan_inputs([SITE], [{**LOCAL, "seeds": 30}, {**LOCAL, "seeds": missing}]))
    assert trial.lines.iloc[0]["status"] == "on-track"


def test_the_time_limit_leaves_a_plan_with_an_open_gap() -> None:
    from nursery.planning.plan_allocation import Effort

    lines = [{**SITE, "wanted": 100 + n} for n in range(4)]
    result = make_plan(plan_inputs(lines, [LOCAL, {**LOCAL, "seeds": 90}]), Effort(seconds=0.0))
    assert np.isinf(result.sharing.gap).any()
    # What the optimisation had no time for is drawn lot by lot.
    assert result.lines["seeds_missing"].sum() == 0


def test_progress_is_told_part_by_part() -> None:
    from nursery.planning.plan_allocation import Effort

    told: list[tuple[int, int]] = []
    lines = [{**SITE, "site_id": 1}, {"region_code": "R9", "site_id": 2}]
    make_plan(
        plan_inputs(lines, [LOCAL, {"region_code": "R9"}]),
        Effort(report=lambda now: told.append((now.parts, now.all_parts))),
    )
    assert told[:2] == [(1, 2), (2, 2)]


def test_lines_of_one_site_have_one_verdict_whatever_the_season() -> None:
    lines = [{**SITE, "season": 2027}, {**SITE, "season": 2028}]
    result = make_plan(plan_inputs(lines, [LOCAL]))
    # Elevations are not on record, which calls for caution.
    assert result.draws["verdict"].tolist() == [1, 1]
