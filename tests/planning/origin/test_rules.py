"""Each rule at its limits, on what is unknown, and what holds of all of them together."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery.planning.origin.defaults import DEFAULT_RULES
from nursery.planning.origin.rule_table import LEVELS, NOT_JUDGED, RuleTable
from nursery.planning.origin.rules import judge
from nursery.planning.origin.strategies import PRESETS, Strategies
from nursery.planning.origin.words import StrategyKind
from tests.planning.origin import cases
from tests.planning.origin.cases import LOT, SITE, judged, told

#: Tables of pairs at random are slow to build.
FEW = settings(deadline=None, max_examples=40)
NOWHERE = {"region_code": "", "basin": ""}


def test_a_lot_that_meets_every_rule_passes() -> None:
    assert (judged({}, {}).verdict_of(0), told(judged({}, {}))) == ("pass", {})


@pytest.mark.parametrize(
    ("lot", "site", "expected"),
    [
        # elevation: on a limit is within it, above and below alike
        ({"elevation_m": 550.0}, {}, {}),
        ({"elevation_m": 550.1}, {}, {"elevation": "caution"}),
        ({"elevation_m": 249.0}, {}, {"elevation": "caution"}),
        ({"elevation_m": 700.0}, {}, {"elevation": "caution"}),
        ({"elevation_m": 700.5}, {}, {"elevation": "stop"}),
        ({"elevation_m": 99.0}, {}, {"elevation": "stop"}),
        ({"elevation_m": 450.1}, {"elevation_m": 300.1}, {}),
        ({"elevation_m": None}, {}, {"elevation": "caution"}),
        ({}, {"elevation_m": None}, {"elevation": "caution"}),
        # region, and the basin in its place
        ({"region_code": "R-2"}, {}, {"region": "stop"}),
        ({"region_code": " R-1 "}, {}, {}),
        ({"region_code": ""}, {}, {"region": "stop"}),
        ({"basin": "Brenha"}, {}, {"basin": "caution"}),
        ({"basin": ""}, {}, {}),
        ({"region_code": "R-2", "basin": "Brenha"}, {}, {"region": "stop", "basin": "caution"}),
        ({}, {"region_code": ""}, {}),
        ({"region_code": "R-2"}, {"region_code": ""}, {}),
        ({"basin": "Brenha"}, {"region_code": ""}, {"basin": "stop"}),
        ({"basin": ""}, {"region_code": ""}, {"basin": "stop"}),
        ({}, NOWHERE, {"basin": "stop"}),
        # distance: only where a region is unknown; a degree of latitude here is 111.0 km
        ({"latitude": 38.0}, {}, {}),
        ({"latitude": 39.5}, {"region_code": ""}, {"distance": "caution"}),
        ({"latitude": 38.0}, {"region_code": ""}, {"distance": "stop"}),
        ({"latitude": 39.5, "region_code": ""}, {}, {"region": "stop", "distance": "caution"}),
        # climate
        ({"mean_annual_c": 16.5}, {}, {}),
        ({"mean_annual_c": 16.6}, {}, {"temperature": "caution"}),
        ({"mean_annual_c": 13.4}, {}, {"temperature": "caution"}),
        ({"mean_annual_c": None}, {}, {}),
        ({"annual_rain_mm": 750.0}, {}, {}),
        ({"annual_rain_mm": 751.0}, {}, {"rain": "caution"}),
        ({"annual_rain_mm": 449.0}, {}, {"rain": "caution"}),
        ({}, {"annual_rain_mm": 0.0}, {}),
        ({"coldest_month_min_c": 5.0}, {}, {}),
        ({"coldest_month_min_c": 5.1}, {}, {"frost": "caution"}),
        ({"coldest_month_min_c": -9.0}, {}, {}),
        # status, category, permit
        ({"status": "unknown"}, {}, {}),
        ({"status": "non-indigenous"}, {}, {}),
        ({"status": "indigenous"}, {"native_only": True}, {}),
        ({"status": "non-indigenous"}, {"native_only": True}, {"status": "stop"}),
        ({"status": "unknown"}, {"native_only": True}, {"status": "stop"}),
        ({}, {"least_category": "source-identified"}, {}),
        ({}, {"least_category": "selected"}, {"category": "stop"}),
        ({"category": "tested"}, {"least_category": "selected"}, {}),
        ({"category": ""}, {"least_category": "selected"}, {"category": "caution"}),
        ({"is_held": True}, {}, {"permit": "stop"}),
        # mothers: thirty equal ones are enough although 1 ÷ Σp² comes to a shade less
        ({"effective_mothers": 1 / (30 * (1 / 30) ** 2)}, {}, {}),
        ({"effective_mothers": 29.9}, {}, {"mothers": "caution"}),
        ({"effective_mothers": 15.0}, {}, {"mothers": "caution"}),
        ({"effective_mothers": 14.9}, {}, {"mothers": "stop"}),
        ({"effective_mothers": None, "most_mothers": None}, {}, {"mothers": "caution"}),
        ({"effective_mothers": None, "most_mothers": 50.0}, {}, {"mothers": "caution"}),
        ({"effective_mothers": None, "most_mothers": 14.0}, {}, {"mothers": "stop"}),
        ({"largest_family": 0.1}, {}, {}),
        ({"largest_family": 0.11}, {}, {"family": "caution"}),
        ({"largest_family": None}, {}, {}),
    ],
)
def test_each_rule_at_its_limits(lot: dict[str, Any], site: dict[str, Any], expected: dict[str, str]) -> None:
    judgement = judged(lot, site)

    worst = max([LEVELS.index(verdict) for verdict in expected.values()], default=0)
    assert (told(judgement), judgement.verdict.tolist()) == (expected, [worst])


def test_another_species_is_refused() -> None:
    judgement = judge(
        pd.DataFrame([LOT]), pd.DataFrame([SITE]), np.zeros(2, np.int64), np.zeros(2, np.int64),
        RuleTable.of([DEFAULT_RULES]), accepts=Strategies.none(1), wanted=np.array([1, 2]),
    )  # fmt: skip

    assert judgement.verdict.tolist() == [0, 2]
    assert judgement.reasons(1) == [
        {
            "rule": "species",
            "verdict": "stop",
            "found": "other species",
            "limit": "same species",
            "basis": "Common practice, no source.",
            "note": "",
        }
    ]


def test_a_reason_tells_what_was_found_against_which_limit_and_on_what_basis() -> None:
    lot = {"elevation_m": 720.0, "basin": "Brenha"}

    basis = [DEFAULT_RULES[rule]["basis"] for rule in ("elevation", "basin")]
    assert judged(lot, {}).reasons(0) == [
        {
            "rule": "elevation",
            "verdict": "stop",
            "found": 320.0,
            "limit": 300.0,
            "basis": basis[0],
            "note": "",
        },
        {
            "rule": "basin",
            "verdict": "caution",
            "found": "Brenha",
            "limit": "Alva",
            "basis": basis[1],
            "note": "",
        },
    ]


def test_of_a_pooled_lot_a_reason_tells_the_most_mothers_it_can_have() -> None:
    pooled = {"effective_mothers": None, "most_mothers": 12.0}
    unknown = {"effective_mothers": None, "most_mothers": None}

    told = [judged(lot, {}).reasons(0)[0] for lot in (pooled, unknown)]
    assert [(one["verdict"], one["found"], one["limit"], one["note"]) for one in told] == [
        ("stop", 12.0, 15.0, "at most"),
        ("caution", None, 30.0, ""),
    ]


def test_rules_that_are_met_are_told_on_request_and_those_that_do_not_apply_never() -> None:
    rules = [reason["rule"] for reason in judged({}, {}).reasons(0, passes=True)]

    assert rules == [
        "region", "basin", "elevation", "temperature", "rain", "frost", "permit", "mothers", "family"
    ]  # fmt: skip


def test_a_rule_without_limits_or_left_out_is_not_judged() -> None:
    off = judged({"elevation_m": 2000.0}, {}, elevation={"caution": None, "stop": None})
    left_out = judge(
        pd.DataFrame([LOT]), pd.DataFrame([SITE]), np.zeros(1, np.int64), np.zeros(1, np.int64),
        RuleTable.of([{}]), accepts=Strategies.none(1),
    )  # fmt: skip

    assert off.verdict.tolist() == [0]
    assert left_out.findings[0, [3, 5]].tolist() == [NOT_JUDGED, NOT_JUDGED]


def test_each_site_follows_its_own_version() -> None:
    mild = {**DEFAULT_RULES, "region": {**DEFAULT_RULES["region"], "differs": "caution"}}
    judgement = judge(
        pd.DataFrame([{**LOT, "region_code": "R-2"}]), pd.DataFrame([SITE, {**SITE, "rule_row": 1}]),
        np.zeros(2, np.int64), np.arange(2), RuleTable.of([DEFAULT_RULES, mild]), accepts=Strategies.none(2),
    )  # fmt: skip

    assert judgement.verdict.tolist() == [2, 1]


def test_a_species_with_regions_of_its_own_is_judged_by_them() -> None:
    site = {"own_regions": ((1, "S-9"), (2, "R-2"))}

    assert [told(judged({"region_code": code}, site)) for code in ("R-1", "S-9")] == [{"region": "stop"}, {}]
    assert told(judged({"species_id": 3}, site)) == {}
    reason = judged({}, site).reasons(0)[0]
    assert (reason["found"], reason["limit"]) == ("R-1", "S-9")


def test_an_unknown_rule_or_verdict_is_refused() -> None:
    with pytest.raises(ValueError, match="soil"):
        RuleTable.of([{"soil": {"differs": "stop", "unknown": "stop"}}])
    with pytest.raises(ValueError, match="red"):
        RuleTable.of([{"region": {"differs": "red", "unknown": "stop"}}])


@FEW
@given(lot=cases.lots, site=cases.sites)
def test_by_default_a_site_takes_its_region_and_without_one_its_basin(
    lot: dict[str, Any], site: dict[str, Any]
) -> None:
    judgement = judged(lot, {**site, "rule_row": 0})

    refused = {reason["rule"] for reason in judgement.reasons(0) if reason["verdict"] == "stop"}
    of_region = bool(site["region_code"]) and lot["region_code"] == site["region_code"]
    of_basin = not site["region_code"] and bool(site["basin"]) and lot["basin"] == site["basin"]
    assert bool(refused & {"region", "basin"}) == (not (of_region or of_basin))


@FEW
@given(
    lots=st.lists(cases.lots, min_size=1, max_size=4),
    places=st.lists(st.tuples(cases.sites, cases.terms), min_size=1, max_size=4),
)
def test_one_pair_at_a_time_gets_the_same_answer_as_all_at_once(lots: list[Any], places: list[Any]) -> None:
    sites, accepts = [site for site, _terms in places], [terms for _site, terms in places]
    together = cases.judge_all(lots, sites, accepts)

    alone = [
        cases.judge_all([lot], [site], [each]) for lot in lots for site, each in zip(sites, accepts, strict=True)
    ]
    assert together.findings.tolist() == [one.findings[0].tolist() for one in alone]
    assert together.source.tolist() == [int(one.source[0]) for one in alone]
    assert [together.reasons(at, passes=True) for at in range(len(alone))] == [
        one.reasons(0, passes=True) for one in alone
    ]


@FEW
@given(lot=cases.lots, site=cases.sites, terms=cases.terms)
def test_a_verdict_is_its_worst_finding(lot: dict[str, Any], site: dict[str, Any], terms: Any) -> None:
    judgement = cases.judge_all([lot], [site], [terms])

    worst = max(LEVELS.index(one["verdict"]) for one in judgement.reasons(0, passes=True))
    assert judgement.verdict.tolist() == [worst]


@FEW
@given(lot=cases.lots, site=cases.sites)
def test_a_strategy_with_shares_is_never_stricter_and_the_strict_one_never_milder(lot: Any, site: Any) -> None:
    plain = cases.judge_all([lot], [site], [None]).findings

    for kind in (StrategyKind.REGION, StrategyKind.ADMIXTURE, StrategyKind.COMPOSITE, StrategyKind.CLIMATE):
        assert np.all(cases.judge_all([lot], [site], [PRESETS[kind]]).findings <= plain)
    assert np.all(cases.judge_all([lot], [site], [PRESETS[StrategyKind.STRICT]]).findings >= plain)


@FEW
@given(lot=cases.lots, site=cases.sites, terms=cases.terms, limit=st.floats(0, 900), more=st.floats(0, 500))
def test_a_wider_limit_is_never_stricter(lot: Any, site: Any, terms: Any, limit: float, more: float) -> None:
    site = {**site, "rule_row": 0}
    tight = judged(lot, site, terms, elevation={"caution": limit, "stop": limit})
    wide = judged(lot, site, terms, elevation={"caution": limit, "stop": limit + more})

    assert wide.verdict[0] <= tight.verdict[0]
