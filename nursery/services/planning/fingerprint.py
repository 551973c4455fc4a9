"""Inputs of a plan as plain JSON, and their fingerprint: equal fingerprints mean equal plans."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import numpy as np
import pandas as pd

from nursery.planning.plan import ENGINE
from nursery.planning.plan_inputs import PlanInputs


def as_json(inputs: PlanInputs) -> dict[str, Any]:
    """Everything the calculation was given, in plain values; a missing number or day is null."""
    protocols = inputs.protocols
    return {
        "engine": ENGINE,
        "today": str(inputs.today),
        "lines": _table(inputs.lines),
        "lots": _table(inputs.lots),
        "protocols": _table(protocols.table),
        "phases": {
            "names": [list(row) for row in protocols.names],
            "days": protocols.days.tolist(),
            "degree_days": protocols.degree_days.tolist(),
            "base_c": protocols.base_c.tolist(),
            "sow_at": protocols.sow_at.tolist(),
        },
        "normals": inputs.normals.tolist(),
        "costs": vars(inputs.costs),
        "spare_trays": inputs.spare_trays,
    }


def fingerprint(inputs: dict[str, Any]) -> str:
    """SHA-256 of the inputs in canonical form."""
    text = json.dumps(inputs, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _table(frame: pd.DataFrame) -> dict[str, list[Any]]:
    return {str(name): _column(frame[name]) for name in frame.columns}


def _column(values: pd.Series) -> list[Any]:
    if np.issubdtype(values.to_numpy().dtype, np.datetime64):
        days = values.to_numpy().astype("datetime64[D]")
        return [None if np.isnat(day) else str(day) for day in days]
    if np.issubdtype(values.to_numpy().dtype, np.floating):
        return [None if number != number else number for number in values.tolist()]  # noqa: PLR0124 -- NaN
    return values.tolist()
