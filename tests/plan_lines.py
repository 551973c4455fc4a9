"""Plans with lines written by hand, so that a test knows every date and number in them."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Draw, Lot, NeedPart, Plan, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.services import auditing
from tests.conftest import Maker


def make_kept_plan(session: Session, as_of: dt.date, *, adopted: bool = True, label: str = "Plan of ours") -> Plan:
    """A plan without lines."""
    plan = Plan(
        label=label, person="Ana Seabra", as_of=as_of, fingerprint=f"{label} {as_of}"[:64].ljust(64, "0"),
        engine_version="1", inputs={}, is_adopted=adopted,
    )  # fmt: skip
    session.add(plan)
    auditing.record(session, "Ana Seabra", action="made", row=plan, details={})
    session.flush()
    return plan


def phases_of(start: dt.date, *steps: tuple[str, int] | tuple[str, int, int]) -> list[dict[str, Any]]:
    """Phases one after the other: name, days in all, and days of waiting among them."""
    phases = []
    for name, days, *waits in steps:
        end = start + dt.timedelta(days=days)
        phases.append({"name": name, "start": start.isoformat(), "end": end.isoformat(), "wait_days": sum(waits)})
        start = end
    return phases


def add_line(
    maker: Maker, plan: Plan, phases: list[dict[str, Any]], *, key: str = "quercus-suber", **values: Any
) -> PlanLine:
    """One line; 12 trays of 40 cells, two seeds a cell, 400 plants of 400 wanted, all in order."""
    need_id = values.pop("need_id", None)
    species = maker.species(key)
    target = maker.target(species=species)
    before = [phase for phase in phases if phase["name"] in {"soak", "scarify", "warm-stratify", "cold-stratify"}]
    sow_on = dt.date.fromisoformat(before[-1]["end"] if before else phases[0]["start"])
    plant_on = dt.date.fromisoformat(phases[-1]["end"])
    basis = {"cells_from_lots": 480, "cells_per_tray": 40, **values.pop("basis", {})}
    defaults: dict[str, Any] = {
        "plan_id": plan.id, "target_id": target.id, "site_id": target.site_id, "site_name": "Azenha bank",
        "species_id": species.id, "species_name": species.scientific_name, "season": plant_on.year,
        "status": LineStatus.ON_TRACK, "wanted": 400, "plants_to_plant": 400, "ready_plants": 410,
        "method": Method.DIRECT, "protocol": "fresh-direct", "container_name": "Deep tray",
        "nursery_name": "River yard", "seeds_per_cell": 2, "cells": 470, "trays": 12, "cells_sown": 480,
        "seeds": 960, "grams": 4000.0, "collect_by": None,
        "pretreat_on": dt.date.fromisoformat(phases[0]["start"]),
        "sow_on": sow_on, "ready_on": plant_on, "plant_on": plant_on, "expected": 440.0, "p10": 400, "p90": 480,
        "probability": 0.85, "shortfall": 0, "seeds_missing": 0, "phases": phases, "problems": [], "basis": basis,
    }  # fmt: skip
    line = PlanLine(**{**defaults, **values})
    maker.session.add(line)
    maker.session.flush()
    if need_id is not None:
        part = NeedPart(need_id=need_id, line_id=line.id, seeds=line.seeds_missing, plants=line.shortfall)
        maker.session.add(part)
        maker.session.flush()
    return line


def add_draw(maker: Maker, line: PlanLine, seeds: int, milligrams: int | None, lot: Lot | None = None) -> Draw:
    """Seed of a lot for a line."""
    lot = lot or maker.lot(population=maker.population(species=maker.species()))
    draw = Draw(
        line_id=line.id, lot_id=lot.id, lot_code=lot.code, seeds=seeds, milligrams=milligrams, cells=480,
        viability=0.8, distance_m=2000.0,
    )  # fmt: skip
    maker.session.add(draw)
    maker.session.flush()
    return draw


def add_need(maker: Maker, plan: Plan, opens_on: dt.date, closes_on: dt.date, **values: Any) -> CollectionNeed:
    """Seed to be collected."""
    species = maker.species()
    defaults: dict[str, Any] = {
        "plan_id": plan.id, "species_id": species.id, "species_name": species.scientific_name,
        "region_code": "GV-M", "basin": "Guadorva", "opens_on": opens_on, "closes_on": closes_on, "seeds": 500,
        "grams": 2250.0, "fruit_kg": 2.5, "mothers": 30, "plants": 120,
    }  # fmt: skip
    need = CollectionNeed(**{**defaults, **values})
    maker.session.add(need)
    maker.session.flush()
    return need
