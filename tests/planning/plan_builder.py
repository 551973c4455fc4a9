"""Small plan inputs for tests: one species, plain rates, everything else by name."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from nursery.planning.months import mask_of
from nursery.planning.origin.defaults import DEFAULT_RULES
from nursery.planning.origin.rule_table import RuleTable
from nursery.planning.origin.strategies import Terms
from nursery.planning.plan_inputs import LINE_COLUMNS, LOT_COLUMNS, RATES, Costs, PlanInputs, Protocols
from nursery.planning.plan_origin import BEFORE_COLUMNS, DECISION_COLUMNS, MARK_COLUMNS, PlanOrigin

TODAY = "2026-11-25"
SURE = 1e9  # trials so many that a rate is as good as certain

LINE: dict[str, Any] = {
    "target_id": 1,
    "species_id": 1,
    "site_id": 1,
    "season": 2027,
    "wanted": 100,
    "survival_year": 0,
    "latitude": 40.0,
    "longitude": -6.0,
    "region_code": "R1",
    "basin": "",
    "window_open": "2027-11-01",
    "window_close": "2028-02-28",
    "pinned_day": None,
    "priority": 3,
    "assurance": 0.8,
    "seeds_per_cell": 1,
    "cells_per_tray": 10,
    "cell_volume_cm3": 300.0,
    "protocol_row": 0,
    "southern": False,
}
LOT: dict[str, Any] = {
    "lot_id": 1,
    "species_id": 1,
    "is_cuttings": False,
    "seeds": 100_000,
    "tsw_g": 10.0,
    "purity": 1.0,
    "germination": 1.0,
    "tested_on": "2026-11-01",
    "collected_on": "2026-09-01",
    "latitude": 40.0,
    "longitude": -6.0,
    "region_code": "R1",
    "basin": "",
    "sigma_days": np.nan,
    "is_tested": True,
    "is_lost": False,
}
#: What the rules look at beside a lot's place: a lot that no rule has anything against.
ORIGIN: dict[str, Any] = {
    "elevation_m": np.nan,
    "status": "autochthonous",
    "category": "source-identified",
    "is_held": False,
    "effective_mothers": 50.0,
    "most_mothers": 50.0,
    "largest_family": 0.02,
}
LOT_TYPES = {
    **dict.fromkeys(("lot_id", "species_id", "seeds"), np.int64),
    **dict.fromkeys(("is_cuttings", "is_tested", "is_lost"), np.bool_),
    **dict.fromkeys(("tsw_g", "purity", "germination", "sigma_days"), np.float64),
}
PROTOCOL: dict[str, Any] = {
    "species_id": 1,
    "key": "spring",
    "method": "direct",
    "is_cuttings": False,
    "life_days": 1e9,
    "tsw_g": 10.0,
    "purity": 1.0,
    "extraction_yield": 0.5,
    "fruit_kg_per_mother": 1.0,
    "cuttings_per_mother": 10.0,
    "container_volume_cm3": 300.0,
    "seeds_per_cell": 0,
    "sow_mask": mask_of([2, 3, 4]),
    "collect_mask": mask_of([9, 10]),
    "field_survival_1_mean": 0.8,
    "field_survival_3_mean": 0.5,
    **{f"{rate}_mean": 0.0 if rate in {"cull", "handling_loss"} else 1.0 for rate in RATES},
    **{f"{rate}_weight": SURE for rate in RATES},
}
#: Cold stratification, then emergence (which begins with sowing), growing, hardening.
PHASES = (("cold-stratify", 30), ("emergence", 30), ("growing", 150), ("hardening", 30))
SOW_AT = 1


def plan_inputs(
    lines: list[dict[str, Any]],
    lots: list[dict[str, Any]] = [],  # noqa: B006 -- read only
    protocols: list[dict[str, Any]] = [{}],  # noqa: B006 -- read only
    *,
    today: str = TODAY,
    spare_trays: int = 0,
    strategies: dict[int, Terms] = {},  # noqa: B006 -- read only
    decisions: list[dict[str, Any]] = [],  # noqa: B006 -- read only
    before: list[dict[str, Any]] = [],  # noqa: B006 -- read only
) -> PlanInputs:
    """Inputs whose rows are the plain ones with the given fields changed; a protocol may bring its ``phases``."""
    table = pd.DataFrame([{**PROTOCOL, **{k: v for k, v in row.items() if k != "phases"}} for row in protocols])
    phases = [row.get("phases", PHASES) for row in protocols]
    days = np.array([[length for _, length in row] for row in phases], np.int64)
    given = pd.DataFrame(
        [{**LINE, "target_id": n + 1, **row} for n, row in enumerate(lines)], columns=list(LINE_COLUMNS)
    )
    for column in ("window_open", "window_close", "pinned_day"):
        given[column] = pd.to_datetime(given[column]).astype("datetime64[s]")
    stock = pd.DataFrame(
        [{**LOT, "lot_id": n + 1, **row} for n, row in enumerate(lots)], columns=list(LOT_COLUMNS)
    )
    for column in ("tested_on", "collected_on"):
        stock[column] = pd.to_datetime(stock[column]).astype("datetime64[s]")
    stock = stock.astype(LOT_TYPES)
    return PlanInputs(
        today=np.datetime64(today, "D"),
        lines=given,
        lots=stock,
        protocols=Protocols(
            table,
            tuple(tuple(name for name, _ in row) for row in phases),
            days,
            np.zeros(days.shape),
            np.zeros(days.shape),
            np.full(len(table), SOW_AT),
        ),
        normals=np.full((len(given), 12), 15.0),
        costs=Costs(0.02, 0.02, 0.15),
        spare_trays=spare_trays,
        origin=plan_origin(given, lots, strategies=strategies, decisions=decisions, before=before),
    )


def plan_origin(
    lines: pd.DataFrame,
    lots: list[dict[str, Any]],
    *,
    strategies: dict[int, Terms],
    decisions: list[dict[str, Any]],
    before: list[dict[str, Any]],
) -> PlanOrigin:
    """A site for each ``site_id``, where its first line says; each lot lies where it says, a population each."""
    place = ["site_id", "latitude", "longitude", "region_code", "basin"]
    sites = lines.drop_duplicates("site_id").reset_index(drop=True)
    rows = [{**LOT, **ORIGIN, "population_id": n + 1, **row} for n, row in enumerate(lots)]
    return PlanOrigin(
        lots=pd.DataFrame(
            rows, columns=[*ORIGIN, "population_id", "latitude", "longitude", "region_code", "basin"]
        ),
        sites=sites[place].assign(rule_row=0),
        site=pd.Index(sites["site_id"]).get_indexer(lines["site_id"]).astype(np.int64),
        rules=RuleTable.of([DEFAULT_RULES]),
        terms=[strategies.get(site) for site in sites["site_id"]],
        decisions=pd.DataFrame(decisions, columns=list(DECISION_COLUMNS)),
        before=pd.DataFrame(before, columns=list(BEFORE_COLUMNS)).astype({"plants": np.float64}),
        before_that=pd.DataFrame([], columns=list(BEFORE_COLUMNS)).astype(np.float64),
        marks=pd.DataFrame([], columns=list(MARK_COLUMNS)).astype({"target_id": np.int64}),
    )
