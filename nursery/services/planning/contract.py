"""The plan as plain data: what ``nursery plan --json`` prints and the API answers."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import CollectionNeed, Decision, Draw, Plan, PlanLine
from nursery.planning.origin.words import NeedPurpose
from nursery.services.catalogue import effective_entries
from nursery.services.planning.decided import decision_as_data, decisions_heeded, decisions_of
from nursery.services.planning.held import read_held
from nursery.services.planning.plans import current_plan
from nursery.services.planning.words import sentence
from nursery.services.seasons import season_name


def current_plan_as_data(session: Session) -> dict[str, Any]:
    """The plan in force as `plan_as_data` gives it, or ``NotFound`` while there is none."""
    plan = current_plan(session)
    if plan is None:
        raise NotFound(_("There is no plan yet. Write down targets, then make one."))
    return plan_as_data(session, plan)


def plan_as_data(session: Session, plan: Plan) -> dict[str, Any]:
    """A plan with its lines, what it takes of each lot and what is to be collected; ISO 8601 days, mass in g."""
    lines = session.scalars(
        select(PlanLine)
        .where(PlanLine.plan_id == plan.id)
        .options(selectinload(PlanLine.draws))
        .order_by(PlanLine.id)
    ).all()
    entries = effective_entries(session, {line.species_id for line in lines})
    decisions = decisions_of(session, [draw for line in lines for draw in line.draws])
    held = read_held(session, lines)
    needs = session.scalars(
        select(CollectionNeed).where(CollectionNeed.plan_id == plan.id).order_by(CollectionNeed.id)
    ).all()
    return {
        "plan": {
            "id": plan.id,
            "label": plan.label,
            "as_of": _iso(plan.as_of),
            "adopted": plan.is_adopted,
            "fingerprint": plan.fingerprint,
            "engine": plan.engine_version,
            "allocation": plan.allocation,
        },
        "lines": [
            {
                **_line(line, [sentence(p, entries.get(line.species_id)) for p in line.problems]),
                "lots": [_draw(draw, decisions.get(draw.id)) for draw in line.draws],
                "mix": line.mix,
                "bottleneck": held.get(line.id, []),
            }
            for line in lines
        ],
        "lots": _lots(lines),
        "decisions": [
            {**(decision_as_data(each) or {}), "lot": each.lot.code, "site": each.site.name}
            for each in decisions_heeded(session, plan)
        ],
        "collect": [_need(need) for need in needs if need.purpose is NeedPurpose.PLANTS],
        # Not needed for the number of plants: what the shares of sites' strategies lack.
        "collect_for_shares": [_need(need) for need in needs if need.purpose is NeedPurpose.SHARES],
    }


def _line(line: PlanLine, problems: list[str]) -> dict[str, Any]:
    return {
        "target": line.target_id,
        "site": line.site_name,
        "species": line.species_name,
        "season": season_name(line.season),
        "status": line.status.value,
        "wanted": line.wanted,
        "plants_to_plant": line.plants_to_plant,
        "ready_plants": line.ready_plants,
        "method": line.method.value,
        "protocol": line.protocol,
        "container": line.container_name,
        "nursery": line.nursery_name,
        "seeds_per_cell": line.seeds_per_cell,
        "cells": line.cells,
        "trays": line.trays,
        "cells_sown": line.cells_sown,
        "seeds": line.seeds,
        "grams": line.grams,
        "lots": [],
        "seeds_missing": line.seeds_missing,
        "collect_by": _iso(line.collect_by),
        "pretreat_on": _iso(line.pretreat_on),
        "sow_on": _iso(line.sow_on),
        "ready_on": _iso(line.ready_on),
        "plant_on": _iso(line.plant_on),
        "phases": line.phases,
        "expected": line.expected,
        "p10": line.p10,
        "p90": line.p90,
        "probability": line.probability,
        "shortfall": line.shortfall,
        "growing": line.growing,
        "problems": problems,
    }


def _draw(draw: Draw, decision: Decision | None) -> dict[str, Any]:
    """Seed of one lot, what the rules say of it at the site, and what a person decided."""
    return {
        "lot": draw.lot_code,
        "seeds": draw.seeds,
        "grams": _grams(draw.milligrams),
        "verdict": draw.verdict.value if draw.verdict else None,
        "source": draw.source.value if draw.source else None,
        "reasons": draw.reasons or [],
        "decision": decision_as_data(decision),
    }


def _lots(lines: Any) -> list[dict[str, Any]]:
    """What the whole plan takes of each lot."""
    taken: dict[str, list[int]] = {}
    for line in lines:
        for draw in line.draws:
            sums = taken.setdefault(draw.lot_code, [0, 0])
            sums[0] += draw.seeds
            sums[1] += draw.milligrams or 0
    return [
        {"lot": code, "seeds": seeds, "grams": _grams(milligrams or None)}
        for code, (seeds, milligrams) in sorted(taken.items())
    ]


def _need(need: CollectionNeed) -> dict[str, Any]:
    return {
        "species": need.species_name,
        "region": need.region_code,
        "basin": need.basin,
        "source": need.source.value,
        "from": _iso(need.opens_on),
        "until": _iso(need.closes_on),
        "seeds": need.seeds,
        "grams": need.grams,
        "fruit_kg": need.fruit_kg,
        "mothers": need.mothers,
        "plants": need.plants,
    }


def _grams(milligrams: int | None) -> float | None:
    return None if milligrams is None else milligrams / 1000


def _iso(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()
