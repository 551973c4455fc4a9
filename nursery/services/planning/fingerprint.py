"""Inputs of a plan as plain JSON, and their fingerprint: equal fingerprints mean equal plans."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from typing import Any

import numpy as np

from nursery.planning.heavy import pd
from nursery.planning.origin.strategies import Terms
from nursery.planning.plan import ENGINE
from nursery.planning.plan_growing import PlanGrowing
from nursery.planning.plan_inputs import PlanInputs


def as_json(inputs: PlanInputs) -> dict[str, Any]:
    """What the calculation was given, in plain values; a missing number or day is null.

    The plan in force, near which a new one stays, is left out: where nothing else changes the plan does not.
    """
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
        "origin": {
            "lots": _table(inputs.origin.lots),
            "sites": _table(inputs.origin.sites),
            "rules": [dict(version) for version in inputs.origin.rules.rules],
            "strategies": [None if terms is None else vars_of(terms) for terms in inputs.origin.terms],
            "decisions": _table(inputs.origin.decisions),
        },
        "growing": None if inputs.growing is None else _growing(inputs.growing),
    }


def _growing(growing: PlanGrowing) -> dict[str, Any]:
    """What grows, of the lines for which something does."""
    at = np.flatnonzero(growing.some)
    return {
        "parts": _table(growing.parts),
        "lots": _table(growing.lots),
        "lines": at.tolist(),
        "expected": growing.expected[at].tolist(),
        "levels": growing.levels[at].tolist(),
        "days": [
            [None if np.isnat(day) else str(day) for day in days[at]]
            for days in (growing.sown_on, growing.ready_on)
        ],
    }


def vars_of(terms: Terms) -> dict[str, Any]:
    """A strategy in plain values."""
    return {**asdict(terms), "kind": terms.kind.value, "shares": dict(terms.shares)}


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
    return [None if value is None or value != value else value for value in values.tolist()]  # noqa: PLR0124 -- NaN
