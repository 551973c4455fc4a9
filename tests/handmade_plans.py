"""Plans written by hand, line by line, where a test must know every number."""

from __future__ import annotations

import datetime as dt
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Draw, Lot, NeedPart, Plan, PlanLine, Target
from nursery.models.plans import LineStatus
from nursery.models.types import utc_now
from nursery.planning.words import Method

Row = TypeVar("Row")
BASIS = {"tsw_g": 10.0, "purity": 0.9}


def a_plan(session: Session, **values: Any) -> Plan:
    """An adopted plan of the tests' day."""
    defaults: dict[str, Any] = {
        "label": "Plan by hand", "person": "Ana Seabra", "as_of": dt.date(2026, 11, 25), "fingerprint": "0" * 64,
        "engine_version": "1", "inputs": {}, "is_adopted": True, "created_at": utc_now(),
    }  # fmt: skip
    return _added(session, Plan(**{**defaults, **values}))


def a_need(session: Session, plan: Plan, species: Any, **values: Any) -> CollectionNeed:
    """A need of 1,000 seeds of region R1 in the autumn of 2027."""
    defaults: dict[str, Any] = {
        "plan_id": plan.id, "species_id": species.id, "species_name": species.scientific_name, "region_code": "R1",
        "basin": "", "opens_on": dt.date(2027, 10, 1), "closes_on": dt.date(2027, 11, 30), "seeds": 1000,
        "grams": 20.0, "fruit_kg": 0.5, "mothers": 30, "plants": 300,
    }  # fmt: skip
    return _added(session, CollectionNeed(**{**defaults, **values}))


def a_line(session: Session, plan: Plan, target: Target, **values: Any) -> PlanLine:
    """A line in good order for a target: 100 plants, 110 ready, 130 expected; all it misses is of one need."""
    need_id = values.pop("need_id", None)
    session.flush()
    session.refresh(target)
    defaults: dict[str, Any] = {
        "plan_id": plan.id, "target_id": target.id, "site_id": target.site_id, "site_name": target.site.name,
        "species_id": target.species_id, "species_name": target.species.scientific_name, "season": target.season,
        "status": LineStatus.ON_TRACK, "wanted": 100, "plants_to_plant": 100, "ready_plants": 110,
        "method": Method.DIRECT, "protocol": "spring", "container_name": "", "nursery_name": "",
        "seeds_per_cell": 1, "cells": 160, "trays": 4, "cells_sown": 160, "seeds": 160, "grams": 1.6,
        "pretreat_on": dt.date(2027, 2, 1), "sow_on": dt.date(2027, 3, 1), "ready_on": dt.date(2027, 11, 1),
        "plant_on": dt.date(2027, 11, 10), "expected": 130.0, "p10": 105, "p90": 150, "probability": 0.85,
        "shortfall": 0, "seeds_missing": 0, "phases": [], "problems": [], "basis": BASIS,
    }  # fmt: skip
    line = _added(session, PlanLine(**{**defaults, **values}))
    if need_id is not None:
        _added(
            session,
            NeedPart(need_id=need_id, line_id=line.id, seeds=line.seeds_missing, plants=line.shortfall),
        )
    return line


def a_draw(session: Session, line: PlanLine, lot: Lot, **values: Any) -> Draw:
    """160 seeds of a lot for a line."""
    defaults: dict[str, Any] = {
        "line_id": line.id, "lot_id": lot.id, "lot_code": lot.code, "seeds": 160, "milligrams": 1600, "cells": 160,
        "viability": 0.8, "distance_m": 12_000.0,
    }  # fmt: skip
    return _added(session, Draw(**{**defaults, **values}))


def _added(session: Session, row: Row) -> Row:
    session.add(row)
    session.flush()
    return row
