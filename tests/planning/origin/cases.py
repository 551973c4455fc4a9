"""A lot and a site that pass every rule, to be changed one fact at a time, and pairs at random."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from hypothesis import strategies as st

from nursery.planning.origin.defaults import DEFAULT_RULES
from nursery.planning.origin.rule_table import RuleTable
from nursery.planning.origin.rules import Judgement, judge
from nursery.planning.origin.strategies import PRESETS, Strategies, Terms

LOT: Mapping[str, Any] = {
    "species_id": 1,
    "latitude": 40.0,
    "longitude": -6.0,
    "elevation_m": 400.0,
    "region_code": "R-1",
    "basin": "Alva",
    "status": "autochthonous",
    "category": "source-identified",
    "is_held": False,
    "effective_mothers": 40.0,
    "most_mothers": 60.0,
    "largest_family": 0.05,
    "mean_annual_c": 15.0,
    "annual_rain_mm": 600.0,
    "coldest_month_min_c": 2.0,
}
SITE: Mapping[str, Any] = {
    "latitude": 40.1,
    "longitude": -6.0,
    "elevation_m": 400.0,
    "region_code": "R-1",
    "basin": "Alva",
    "native_only": False,
    "least_category": "",
    "rule_row": 0,
    "mean_annual_c": 15.0,
    "annual_rain_mm": 600.0,
    "coldest_month_min_c": 2.0,
    "expected_mean_annual_c": 17.0,
    "expected_annual_rain_mm": 480.0,
    "expected_coldest_month_min_c": 4.0,
}


def judged(
    lot: Mapping[str, Any], site: Mapping[str, Any], terms: Terms | None = None, **rules: Mapping[str, Any]
) -> Judgement:
    """The judgement on one pair, `LOT` and `SITE` changed, by the default rules changed."""
    changed = {
        name: {**default, **rules.get(name, {})} for name, default in DEFAULT_RULES.items() if name != "species"
    }
    return judge(
        pd.DataFrame([{**LOT, **lot}]), pd.DataFrame([{**SITE, **site}]), np.zeros(1, np.int64),
        np.zeros(1, np.int64), RuleTable.of([changed]), accepts=Strategies.of([terms]),
    )  # fmt: skip


def told(judgement: Judgement) -> dict[str, str]:
    """Verdicts by rule of what is not met."""
    return {reason["rule"]: reason["verdict"] for reason in judgement.reasons(0)}


def _or_unknown(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | values


codes = st.sampled_from(["", "R-1", "R-2"])
basins = st.sampled_from(["", "Alva", "Brenha"])
places = {
    "latitude": st.floats(38, 42),
    "longitude": st.floats(-8, -4),
    "elevation_m": _or_unknown(st.floats(0, 900)),
}
climate = {
    "mean_annual_c": _or_unknown(st.floats(8, 20)),
    "annual_rain_mm": _or_unknown(st.floats(0, 1500)),
    "coldest_month_min_c": _or_unknown(st.floats(-8, 10)),
}
category = st.sampled_from(["", "source-identified", "selected", "qualified", "tested"])
lots = st.fixed_dictionaries(
    {
        **places,
        "region_code": codes,
        "basin": basins,
        "status": st.sampled_from(["", "autochthonous", "indigenous", "non-indigenous", "unknown"]),
        "category": category,
        "is_held": st.booleans(),
        "effective_mothers": _or_unknown(st.floats(1, 80)),
        "most_mothers": _or_unknown(st.floats(1, 80)),
        "largest_family": _or_unknown(st.floats(0.01, 1)),
        **climate,
    }
)
sites = st.fixed_dictionaries(
    {
        **places,
        "region_code": codes,
        "basin": basins,
        "native_only": st.booleans(),
        "least_category": category,
        "rule_row": st.integers(0, 1),
        **climate,
        **{f"expected_{name}": values for name, values in climate.items()},
    }
)
terms = st.none() | st.sampled_from(list(PRESETS.values()))
#: A second version beside the defaults: basins never cross, mothers are not asked for.
OTHER_RULES = {
    **{name: rule for name, rule in DEFAULT_RULES.items() if name != "mothers"},
    "basin": {**DEFAULT_RULES["basin"], "differs": "stop", "unknown": "caution"},
}


def judge_all(
    many_lots: Sequence[Mapping[str, Any]],
    many_sites: Sequence[Mapping[str, Any]],
    accepts: Sequence[Terms | None],
) -> Judgement:
    """Every lot at every site."""
    lot, site = np.divmod(np.arange(len(many_lots) * len(many_sites)), len(many_sites))
    return judge(
        pd.DataFrame(many_lots), pd.DataFrame(many_sites), lot, site, RuleTable.of([DEFAULT_RULES, OTHER_RULES]),
        accepts=Strategies.of(accepts),
    )  # fmt: skip
