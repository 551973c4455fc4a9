"""Writing a plan down: the frozen inputs, its lines, draws and collection needs, in a handful of statements."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from typing import Any

import numpy as np
from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Draw, NeedPart, Plan, PlanLine, Species
from nursery.planning.heavy import pd
from nursery.planning.origin.rule_table import LEVELS
from nursery.planning.origin.strategies import SOURCES
from nursery.planning.origin.words import NeedPurpose, NeedSource
from nursery.planning.plan import PlanResult
from nursery.planning.plan_inputs import RATES
from nursery.planning.plan_sources import line_regions
from nursery.services.planning.fingerprint import vars_of
from nursery.services.planning.gather import Gathered


def keep(session: Session, plan: Plan, gathered: Gathered, result: PlanResult) -> None:
    """Store ``result`` under ``plan``, which has its id already."""
    need_ids = _insert(session, CollectionNeed, _need_rows(session, plan, result.needs))
    line_ids = _insert(session, PlanLine, line_rows(plan, gathered, result))
    if parts := _part_rows(result, need_ids, line_ids):
        session.execute(insert(NeedPart), parts)
    if rows := draw_rows(gathered, result, line_ids):
        session.execute(insert(Draw), rows)
    plan.allocation = _allocation(gathered, result)


def draw_rows(gathered: Gathered, result: PlanResult, line_ids: list[int]) -> list[dict[str, Any]]:
    """Columns of every draw."""
    lots, versions = gathered.lots, [version.version_id for version in gathered.versions]
    followed = gathered.inputs.origin.sites["rule_row"].to_numpy()
    lot_ids, codes = lots["lot_id"].tolist(), lots["lot_code"].tolist()
    return [
        {
            "line_id": line_ids[row["line"]],
            "lot_id": lot_ids[row["lot"]],
            "lot_code": codes[row["lot"]],
            "seeds": row["seeds"],
            "milligrams": None if np.isnan(row["milligrams"]) else int(row["milligrams"]),
            "cells": row["units"],
            "viability": row["viability"],
            "distance_m": row["distance_m"],
            "verdict": LEVELS[row["verdict"]],
            "source": SOURCES[row["source"]],
            "reasons": row["reasons"],
            "rule_version_id": versions[followed[row["site"]]],
            "decision_id": row["decision_id"] or None,
        }
        for row in _records(result.draws)
    ]


def _insert(
    session: Session, model: type[CollectionNeed] | type[PlanLine], rows: list[dict[str, Any]]
) -> list[int]:
    if not rows:
        return []
    statement = insert(model).returning(model.id, sort_by_parameter_order=True)
    return list(session.scalars(statement, rows))


def _need_rows(session: Session, plan: Plan, needs: pd.DataFrame) -> list[dict[str, Any]]:
    names = {row.id: row.scientific_name for row in session.execute(select(Species.id, Species.scientific_name))}
    return [
        {
            "plan_id": plan.id,
            "species_id": row["species_id"],
            "species_name": names[row["species_id"]],
            "region_code": row["region_code"],
            "basin": row["basin"],
            "source": NeedSource(row["source"]),
            "purpose": NeedPurpose(row["purpose"]),
            "opens_on": row["opens_on"].date(),
            "closes_on": row["closes_on"].date(),
            "seeds": row["seeds"],
            "grams": _known(row["grams"]),
            "fruit_kg": _known(row["fruit_kg"]),
            "mothers": row["mothers"],
            "plants": row["plants"],
        }
        for row in needs.to_dict("records")
    ]


def _part_rows(result: PlanResult, need_ids: list[int], line_ids: list[int]) -> list[dict[str, Any]]:
    return [
        {
            "need_id": need_ids[part["need"]],
            "line_id": line_ids[part["line"]],
            "seeds": part["seeds"],
            "plants": part["plants"],
        }
        for part in _records(result.need_parts)
    ]


def line_rows(plan: Plan, gathered: Gathered, result: PlanResult) -> list[dict[str, Any]]:
    """Columns of every line."""
    names, inputs = _records(gathered.lines), _records(gathered.inputs.lines)
    lines, phases, problems = _records(result.lines), _phases(gathered, result), _problems(gathered, result)
    mixed, held, shared = _mixes(gathered, result), _relief(result), _shared_out(result)
    growing = _growing(gathered, result)
    regions = line_regions(gathered.inputs).tolist()
    return [
        {
            "plan_id": plan.id,
            "target_id": given["target_id"],
            "site_id": given["site_id"],
            "site_name": name["site_name"],
            "species_id": given["species_id"],
            "species_name": name["species_name"],
            "season": given["season"],
            "status": line["status"],
            "wanted": given["wanted"],
            "method": line["method"],
            "protocol": gathered.protocols.protocols[given["protocol_row"]].key,
            "container_id": None if np.isnan(name["container_id"]) else int(name["container_id"]),
            "container_name": _text(name["container_name"]),
            "nursery_name": _text(name["nursery_name"]),
            "seeds_per_cell": line["seeds_per_cell"] or None,
            **{key: line[key] for key in _WHOLE},
            "grams": _known(line["grams"]),
            **{key: _day(line[key]) for key in _DAYS},
            "expected": line["expected"],
            "probability": line["probability"],
            "phases": phases[position],
            "problems": problems[position],
            "basis": {
                **_basis(gathered, given, line),
                "region_code": regions[position],
                "sharing": shared[position],
            },
            "mix": mixed[position],
            "bottleneck": held.get(position),
            "growing": growing.get(position),
        }
        for position, (given, name, line) in enumerate(zip(inputs, names, lines, strict=True))
    ]


_WHOLE = (
    "plants_to_plant", "ready_plants", "cells", "trays", "cells_sown", "seeds", "p10", "p90", "shortfall",
    "seeds_missing",
)  # fmt: skip
_DAYS = ("collect_by", "pretreat_on", "sow_on", "ready_on", "plant_on")


def _phases(gathered: Gathered, result: PlanResult) -> list[list[dict[str, Any]]]:
    names, schedules = gathered.inputs.protocols.names, result.dating.schedules
    rows = gathered.inputs.lines["protocol_row"].tolist()
    starts, ends, waits = schedules.start.tolist(), schedules.end.tolist(), schedules.wait_days.tolist()
    # A line that is covered by what grows has no phases but those that lie before its batches.
    grown = [
        gathered.growing.phases.get(line, []) if covered else None
        for line, covered in enumerate(result.lines["is_covered"].tolist())
    ]
    sown = [
        [
            {"name": name, "start": start.isoformat(), "end": end.isoformat(), "wait_days": wait}
            for name, start, end, wait in zip(names[row], *dates, strict=True)
            if name and start
        ]
        for row, *dates in zip(rows, starts, ends, waits, strict=True)
    ]
    return [there if there is not None else new for there, new in zip(grown, sown, strict=True)]


def _growing(gathered: Gathered, result: PlanResult) -> dict[int, dict[str, Any]]:
    """What grows for each line: whether that is all it needs, what the line can count on, and batch by batch."""
    growing = gathered.inputs.growing
    if growing is None:
        return {}
    both = growing.together
    secured = growing.secured(gathered.inputs.lines["assurance"].to_numpy())
    covered, p10, p90 = result.lines["is_covered"].tolist(), both.p10.tolist(), both.p90.tolist()
    return {
        line: {
            "covered": covered[line],
            "secured": int(secured[line]),
            "expected": float(growing.expected[line]),
            "p10": p10[line],
            "p90": p90[line],
            "dispatched": sum(batch["dispatched"] for batch in batches),
            "batches": batches,
        }
        for line, batches in gathered.growing.batches.items()
    }


def _problems(gathered: Gathered, result: PlanResult) -> defaultdict[int, list[dict[str, Any]]]:
    found: defaultdict[int, list[dict[str, Any]]] = defaultdict(list)
    codes = dict(zip(gathered.lots["lot_id"].astype(str), gathered.lots["lot_code"], strict=True))
    for row in result.problems.to_dict("records"):
        day, text = _day(row["day"]), row["text"] or ""
        if row["code"] == "killed-in-store":
            # A kept plan names lots as they were called on its day.
            text = ", ".join(codes[lot_id] for lot_id in text.split())
        found[row["line"]].append(
            {
                "code": row["code"],
                "number": _known(row["number"]),
                "day": day.isoformat() if day else None,
                "text": text,
            }
        )
    return found


def _mixes(gathered: Gathered, result: PlanResult) -> list[dict[str, Any] | None]:
    """Each line's mix, and under ``asked`` the strategy it was drawn by."""
    origin = gathered.inputs.origin
    asked = [None if terms is None else vars_of(terms) for terms in origin.terms]
    return [
        {**{name: _known(value) for name, value in row.items()}, "asked": asked[site]}
        if row["plants"] > 0
        else None
        for row, site in zip(_records(result.mixes), origin.site.tolist(), strict=True)
    ]


def _shared_out(result: PlanResult) -> list[dict[str, Any]]:
    """By line what each lot gives before trays are filled, what that stayed near, and the mark of the part."""
    sharing = result.sharing
    found: list[dict[str, Any]] = [
        {"mark": str(mark), "shared_out": {}, "near": {}} for mark in sharing.marks.tolist()
    ]
    offers = sharing.offers
    for name, plants in (("shared_out", sharing.plants), ("near", sharing.before)):
        at = np.flatnonzero(plants > 0)
        rows = zip(
            offers["line"].to_numpy()[at].tolist(), offers["lot_id"].to_numpy()[at].tolist(), plants[at].tolist(),
            strict=True,
        )  # fmt: skip
        for line, lot_id, amount in rows:
            found[line][name][str(lot_id)] = amount
    return found


def _relief(result: PlanResult) -> dict[int, list[dict[str, Any]]]:
    found: defaultdict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in result.relief.to_dict("records"):
        found[row["line"]].append({"code": row["code"], "number": _known(row["number"]), "text": row["text"]})
    return found


def _allocation(gathered: Gathered, result: PlanResult) -> dict[str, Any]:
    """How the sharing out went, and which decisions of people it heeded, by id.

    A gap is None where a level found nothing in the time it had.
    """
    origin = gathered.inputs.origin
    decisions = origin.decisions
    heeded = decisions["lot_id"].isin(gathered.lots["lot_id"]) & decisions["site_id"].isin(
        origin.sites["site_id"].to_numpy()[origin.site]
    )
    sharing = result.sharing
    gap = float(sharing.gap.max()) if len(sharing.gap) else 0.0
    return {
        "seconds": round(sharing.seconds, 3),
        "pairs": len(sharing.gap),
        "parts": len(np.unique(sharing.part)),
        "gap": gap if np.isfinite(gap) else None,
        "decisions": decisions["decision_id"][heeded].tolist(),
    }


def _basis(gathered: Gathered, given: dict[str, Any], line: dict[str, Any]) -> dict[str, Any]:
    """What a person needs to follow the numbers of a line by hand."""
    row = given["protocol_row"]
    table = gathered.inputs.protocols.table
    protocol = gathered.protocols.protocols[row]
    year = given["survival_year"]
    rates = {
        rate: [table.at[row, f"{rate}_mean"], table.at[row, f"{rate}_weight"], protocol.rates[rate].basis]
        for rate in RATES
    }
    if year:
        survival = protocol.rates[f"field_survival_{year}"]
        rates["field_survival"] = [survival.mean, survival.weight, survival.basis]
    return {
        "rates": rates,
        "germination_reference": line["reference_germination"],
        "germination_sown": line["germination"],
        "germination_new": line["new_germination"],
        "units_needed": line["units_needed"],
        "cells_from_lots": line["cells_from_lots"],
        "cells_per_tray": given["cells_per_tray"],
        "spare_trays": gathered.inputs.spare_trays,
        "assurance": given["assurance"],
        "survival_year": year,
        "seeds_per_cell_pinned": given["seeds_per_cell"] > 0,
        "tsw_g": table.at[row, "tsw_g"],
        "purity": table.at[row, "purity"],
        "basin": given["basin"],
        "window": [_day(given["window_open"]).isoformat(), _day(given["window_close"]).isoformat()],  # type: ignore[union-attr]
    }


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(key): value for key, value in row.items()} for row in frame.to_dict("records")]


def _known(number: float) -> float | None:
    return None if number != number else number  # noqa: PLR0124 -- NaN


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _day(moment: Any) -> dt.date | None:
    return None if moment is None or moment is pd.NaT else moment.date()
