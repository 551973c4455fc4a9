"""From which source missing seed should come: shared out by what lacks of each share, nothing counted twice."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.origin.strategies import PRESETS, Terms
from nursery.planning.origin.words import StrategyKind
from nursery.planning.plan import PlanResult, make_plan
from nursery.planning.plan_origin import ROUNDING
from nursery.planning.plan_sources import in_whole_parts, lacking
from tests.planning.plan_builder import plan_inputs

SITE: dict[str, Any] = {"region_code": "R1", "basin": "B1", "wanted": 100, "cells_per_tray": 1}
LATER = {"season": 2028, "window_open": "2028-11-01", "window_close": "2029-02-28"}
LOCAL: dict[str, Any] = {"region_code": "R1", "basin": "B1"}
NEAR: dict[str, Any] = {"region_code": "R2", "basin": "B1"}
FAR: dict[str, Any] = {"region_code": "R3", "basin": "B3"}
COMPOSITE = {1: PRESETS[StrategyKind.COMPOSITE]}


def needs(result: PlanResult) -> dict[tuple[str, str], int]:
    """Seeds by source and purpose."""
    table = result.needs
    return {
        (source, purpose): seeds
        for source, purpose, seeds in zip(table["source"], table["purpose"], table["seeds"], strict=True)
    }


def plan(lots: list[dict[str, Any]], *, strategies: dict[int, Terms] = COMPOSITE, **site: Any) -> PlanResult:
    return make_plan(plan_inputs([{**SITE, **LATER, **site}], lots, strategies=strategies))


def test_with_nothing_in_hand_each_source_gives_its_share() -> None:
    result = plan([])
    assert needs(result) == {("local", "plants"): 60, ("near", "plants"): 30, ("far", "plants"): 10}
    assert result.needs[["region_code", "basin"]].drop_duplicates().to_numpy().tolist() == [["R1", "B1"]]
    assert result.needs["plants"].sum() == result.lines["shortfall"].sum() == 100


def test_what_is_in_hand_counts_toward_its_own_share() -> None:
    result = plan([{**LOCAL, "seeds": 60}, {**NEAR, "seeds": 20}])
    assert needs(result) == {("near", "plants"): 10, ("far", "plants"): 10}


def test_too_much_of_one_source_leaves_the_others_short_of_their_shares() -> None:
    # 80 local of 100: the 20 missing are shared 30 : 10, by what lacks. 5 of far still lack, which is tolerated.
    result = plan([{**LOCAL, "seeds": 80}])
    assert needs(result) == {
        ("near", "plants"): 15, ("far", "plants"): 5, ("near", "shares"): 15,
    }  # fmt: skip


def test_a_share_missed_within_its_tolerance_asks_for_nothing() -> None:
    # Far may be 5 % instead of 10 %, and 2 % more is rounding.
    result = plan([{**LOCAL, "seeds": 64}, {**NEAR, "seeds": 32}, {**FAR, "seeds": 4}])
    assert (result.lines["status"].tolist(), needs(result)) == (["on-track"], {})


def test_a_line_with_plants_enough_still_says_what_its_shares_lack() -> None:
    result = plan([{**LOCAL, "seeds": 5000}])
    assert result.lines["status"].tolist() == ["on-track"]
    assert needs(result) == {("near", "shares"): 30, ("far", "shares"): 10}
    assert result.need_parts["plants"].tolist() == [30, 10]
    assert result.lines["seeds_missing"].tolist() == [0]


def test_what_can_no_longer_be_collected_makes_no_need() -> None:
    # To be sown in March 2027; September and October 2026 are over.
    result = make_plan(plan_inputs([SITE], [{**LOCAL, "seeds": 5000}], strategies=COMPOSITE))
    assert (result.lines["status"].tolist(), len(result.needs)) == (["on-track"], 0)


def test_without_a_strategy_the_region_is_asked_and_with_a_strict_one_what_is_local() -> None:
    plain, strict = plan([], strategies={}), plan([], strategies={1: PRESETS[StrategyKind.STRICT]})
    assert needs(plain) == {("region", "plants"): 100}
    assert needs(strict) == {("local", "plants"): 100}
    assert plain.needs["basin"].tolist() == [""]
    assert strict.needs["basin"].tolist() == ["B1"]


def test_an_admixture_of_too_few_populations_asks_for_others() -> None:
    terms = {1: PRESETS[StrategyKind.ADMIXTURE]}
    # At most 40 % from one population: 60 of 100 have to come from others.
    assert needs(plan([{**LOCAL, "seeds": 5000}], strategies=terms)) == {("region", "shares"): 60}
    two = [{**LOCAL, "seeds": 50, "population_id": number} for number in (1, 2)]
    assert needs(plan(two, strategies=terms)) == {("region", "shares"): 20}
    equal = {1: Terms(least_populations=3)}
    assert needs(plan([{**LOCAL, "seeds": 5000}], strategies=equal)) == {("region", "shares"): 67}
    three = [{**LOCAL, "seeds": 5000, "population_id": number} for number in (1, 2, 3)]
    assert needs(plan(three, strategies=terms)) == {}


def test_species_with_regions_of_their_own_are_gathered_by_those() -> None:
    inputs = plan_inputs([{**SITE, **LATER}, {**SITE, **LATER, "site_id": 2}], [])
    inputs.origin.sites["own_regions"] = [((1, "OWN-7"),), ()]
    result = make_plan(inputs)
    assert result.needs[["region_code", "seeds"]].to_numpy().tolist() == [["OWN-7", 100], ["R1", 100]]
    assert result.need_parts["line"].tolist() == [0, 1]


def test_lines_of_one_place_and_season_share_a_need_of_each_source() -> None:
    lines = [{**SITE, **LATER}, {**SITE, **LATER, "wanted": 50}]
    result = make_plan(plan_inputs(lines, [], strategies=COMPOSITE))
    assert needs(result) == {("local", "plants"): 90, ("near", "plants"): 45, ("far", "plants"): 15}
    assert len(result.need_parts) == 6


def test_seed_for_the_climate_to_come_is_asked_for_by_each_site_by_itself() -> None:
    lines = [{**SITE, **LATER}, {**SITE, **LATER, "site_id": 2}]
    terms = PRESETS[StrategyKind.CLIMATE]
    result = make_plan(plan_inputs(lines, [], strategies={1: terms, 2: terms}))
    assert result.needs["source"].tolist() == ["climate", "climate", "local", "near"]


@given(
    held=st.lists(st.floats(0, 500), min_size=4, max_size=4),
    missing=st.floats(0, 800),
    weights=st.lists(st.integers(0, 5), min_size=4, max_size=4).filter(any),
    tolerance=st.floats(0, 0.3),
)
def test_sources_give_no_more_than_lacks_and_all_that_is_missing(
    held: list[float], missing: float, weights: list[int], tolerance: float
) -> None:
    shares = np.array([weights], np.float64) / sum(weights)
    found = lacking(np.array([held]), np.array([missing]), shares, np.array([tolerance]))
    total = sum(held) + missing
    gap = np.maximum(shares[0] * total - held, 0)
    assert found.plants.sum() == pytest.approx(missing, abs=1e-6)
    # What is too little for a trip of its own is borne by the others.
    assert np.all(found.plants[0] <= gap + 4 * ROUNDING * total + 1e-6)
    left = gap - found.plants[0]
    missed = left > (tolerance + ROUNDING) * total
    assert found.shares[0] == pytest.approx(np.where(missed, left, 0))


@given(total=st.integers(0, 10_000), weights=st.lists(st.floats(0, 100), min_size=1, max_size=6).filter(any))
def test_whole_parts_add_up_and_stay_within_one_of_their_weight(total: int, weights: list[float]) -> None:
    parts = in_whole_parts(np.array([total]), np.array([weights]))[0]
    exact = np.array(weights) / sum(weights) * total
    assert parts.sum() == total
    assert np.all(np.abs(parts - exact) < 1 + 1e-6)
    assert np.all(parts[np.array(weights) == 0] == 0)
