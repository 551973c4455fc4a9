"""Classes of source, and what a site's strategy lets in."""

from __future__ import annotations

from typing import Any

import pytest

from nursery.planning.origin.strategies import PRESETS, SOURCES, Terms
from nursery.planning.origin.words import StrategyKind
from tests.planning.origin.cases import judged, told

COMPOSITE, CLIMATE = PRESETS[StrategyKind.COMPOSITE], PRESETS[StrategyKind.CLIMATE]
STRICT = PRESETS[StrategyKind.STRICT]
#: Near the climate expected at the site of the cases: 17 °C, 480 mm, 4 °C.
WARM = {"mean_annual_c": 16.8, "annual_rain_mm": 500.0, "coldest_month_min_c": 3.8}
FAR = {"region_code": "R-2", "basin": "Brenha"}


def source(lot: dict[str, Any], site: dict[str, Any], terms: Terms | None = None) -> str:
    return SOURCES[int(judged(lot, site, terms).source[0])].value


@pytest.mark.parametrize(
    ("lot", "site", "expected"),
    [
        ({}, {}, "local"),
        ({"region_code": "R-2"}, {}, "near"),
        ({"basin": "Brenha"}, {}, "near"),
        ({"basin": ""}, {}, "near"),
        (FAR, {}, "far"),
        ({}, {"region_code": ""}, "local"),
        ({}, {"basin": ""}, "local"),
        ({"basin": "Brenha"}, {"region_code": ""}, "far"),
        ({}, {"region_code": "", "basin": ""}, "far"),
        ({"region_code": "", "basin": ""}, {}, "far"),
    ],
)
def test_a_source_is_local_near_or_far_by_region_and_basin(
    lot: dict[str, Any], site: dict[str, Any], expected: str
) -> None:
    assert source(lot, site) == expected


def test_a_source_suits_the_expected_climate_only_where_the_strategy_has_a_share_for_that() -> None:
    far = {**FAR, **WARM}

    assert [source(far, {}, terms) for terms in (None, COMPOSITE, CLIMATE)] == ["far", "far", "climate"]


def test_a_local_source_stays_local_and_one_less_suited_than_today_is_no_climate_source() -> None:
    assert source(WARM, {}, CLIMATE) == "local"
    assert source({**FAR, "mean_annual_c": 12.0, "annual_rain_mm": 900.0}, {}, CLIMATE) == "far"
    assert source({**FAR, **WARM}, {"expected_mean_annual_c": None}, CLIMATE) == "climate"
    unknown = {f"expected_{name}": None for name in WARM}
    assert source({**FAR, **WARM}, unknown, CLIMATE) == "far"


def test_composite_shares_let_other_regions_and_basins_in_with_caution() -> None:
    assert told(judged(FAR, {}, COMPOSITE)) == {"region": "caution", "basin": "caution"}
    assert [one["note"] for one in judged(FAR, {}, COMPOSITE).reasons(0)] == ["accepted", ""]
    far_off = {"region_code": ""}
    assert told(judged({"basin": "Brenha", "latitude": 38.0}, far_off, COMPOSITE)) == {
        "basin": "caution",
        "distance": "caution",
    }


def test_a_source_without_a_share_stays_refused() -> None:
    near_only = Terms(StrategyKind.COMPOSITE, {"local": 0.7, "near": 0.3})

    assert told(judged(FAR, {}, near_only))["region"] == "stop"
    assert told(judged({"region_code": "R-2"}, {}, near_only)) == {"region": "caution"}


def test_what_is_unknown_is_not_let_in_by_a_strategy() -> None:
    assert told(judged({"region_code": ""}, {}, COMPOSITE)) == {"region": "stop"}
    assert told(judged({}, {"region_code": "", "basin": ""}, COMPOSITE)) == {"basin": "stop"}


def test_no_strategy_lets_another_rule_off() -> None:
    assert told(judged({**FAR, "elevation_m": 900.0}, {}, COMPOSITE))["elevation"] == "stop"


def test_strict_takes_local_sources_only() -> None:
    assert told(judged({}, {}, STRICT)) == {}
    assert told(judged({"basin": "Brenha"}, {}, STRICT)) == {"basin": "stop"}
    assert [one["note"] for one in judged({"basin": "Brenha"}, {}, STRICT).reasons(0)] == ["strict"]
    assert told(judged(FAR, {}, STRICT)) == {"region": "stop", "basin": "caution"}
    assert told(judged({"basin": ""}, {}, STRICT)) == {"basin": "stop"}


def test_a_site_without_a_strategy_and_one_that_mixes_its_region_keep_to_the_region() -> None:
    for terms in (None, PRESETS[StrategyKind.REGION], PRESETS[StrategyKind.ADMIXTURE]):
        assert told(judged(FAR, {}, terms)) == {"region": "stop", "basin": "caution"}


def test_a_climate_source_is_compared_with_the_climate_to_come_too() -> None:
    assert told(judged({**FAR, **WARM}, {}, CLIMATE)) == {"region": "caution", "basin": "caution"}
    assert told(judged({**FAR, **WARM}, {}, COMPOSITE)) == {
        "region": "caution",
        "basin": "caution",
        "temperature": "caution",
    }


def test_usual_shares_sum_to_one() -> None:
    sums = {kind: round(sum(terms.shares.values()), 9) for kind, terms in PRESETS.items()}

    assert sums == {"strict": 1.0, "region": 0, "admixture": 0, "composite": 1.0, "climate": 1.0}
