"""The work that lines of a plan ask for, as hours by job: from the same steps that dated tasks are made of."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from nursery.catalog.vocabulary import PRETREATMENT_PHASES
from nursery.models import PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.heavy import pd
from nursery.planning.work.tasks import FEED_EVERY, Chains, make_tasks
from nursery.planning.work.times import StandardTime, hours
from nursery.planning.work.words import Job

#: Less than this of a line's plants is never reckoned to be culled away.
_LEAST_KEPT = 0.05


@dataclass(frozen=True, slots=True)
class Sowable:
    """What of a line can be sown: all of it, or where seed is short what the lots in hand fill."""

    seeds: int
    cells: int
    trays: int
    #: Cells whose seed is still to be collected.
    cells_missing: int


def sowable(line: PlanLine) -> Sowable:
    """Seeds, cells and trays of a line, those left out that nobody can find seed for."""
    from_lots = int(line.basis.get("cells_from_lots", line.cells_sown))
    if line.status != LineStatus.SHORT or not line.cells_sown:
        return Sowable(line.seeds, line.cells_sown, line.trays, max(line.cells_sown - from_lots, 0))
    trays = math.ceil(line.trays * from_lots / line.cells_sown - 1e-9)
    return Sowable(max(line.seeds - line.seeds_missing, 0), from_lots, trays, 0)


def plants_to_come(line: PlanLine) -> float:
    """Ready plants expected from what the line still sows; batches that grow already are no part of it."""
    there = float((line.growing or {}).get("expected", 0.0))
    return max(line.expected - there, 0.0)


def share_to_come(line: PlanLine) -> float:
    """`plants_to_come` as a share of all that the line expects."""
    return plants_to_come(line) / line.expected if line.expected > 0 else 0.0


def line_hours(lines: Sequence[PlanLine], times: Mapping[Job, StandardTime]) -> pd.DataFrame:
    """Hours of one person by line and job, from withdrawing seed to sending plants out.

    Parameters
    ----------
    lines : sequence of PlanLine
        With their draws; they need not be written down.
    times : mapping
        Standard times of every job.

    Returns
    -------
    DataFrame
        ``line`` (position), ``job``, ``hours``; no row where there is nothing to do.
    """
    if not lines:
        return pd.DataFrame({"line": [], "job": [], "hours": []})
    phases = _phases(lines)
    table = pd.DataFrame([_row(line) for line in lines])
    draws = pd.DataFrame(
        [(row, draw.lot_id, draw.cells) for row, line in enumerate(lines) for draw in line.draws],
        columns=["chain", "lot_id", "cells"],
    )
    tasks = make_tasks(Chains(table, phases, draws))[["chain", "job", "amount"]]
    trays = table["trays"].to_numpy(np.float64)
    growing = phases[phases["name"] == "growing"]
    rounds = (growing["end"] - growing["start"]).dt.days // FEED_EVERY
    feeds = pd.DataFrame({"chain": growing["chain"], "job": Job.FEED, "amount": rounds * trays[growing["chain"]]})
    plants = [line.plants_to_plant * share_to_come(line) for line in lines]
    sent = pd.DataFrame({"chain": range(len(lines)), "job": Job.DISPATCH, "amount": plants})
    every = pd.concat([tasks, feeds, sent], ignore_index=True).dropna(subset=["amount"])
    every["hours"] = hours([Job(job) for job in every["job"]], every["amount"].to_numpy(np.float64), times)
    found = every.rename(columns={"chain": "line"}).groupby(["line", "job"], as_index=False)[["hours"]].sum()
    return found[found["hours"] > 0].reset_index(drop=True)


def _row(line: PlanLine) -> dict[str, Any]:
    """What a line still sows, nothing of it sown yet, as `Chains` takes it."""
    sown = sowable(line)
    cull = float(line.basis.get("rates", {}).get("cull", [0.0])[0])
    return {
        "method": str(line.method), "sown": False, "share": 1.0, "rank": -1, "in_cells": False,
        "lots": len(line.draws), "cells": sown.cells, "cells_missing": sown.cells_missing,
        "seeds_per_cell": line.seeds_per_cell or 1, "trays": sown.trays, "emerged": sown.cells,
        "standing": plants_to_come(line) / max(1 - cull, _LEAST_KEPT),
    }  # fmt: skip


def _phases(lines: Sequence[PlanLine]) -> pd.DataFrame:
    found = pd.DataFrame(
        [
            (row, phase["name"], phase["start"], phase["end"], int(phase["wait_days"]),
             phase["name"] in PRETREATMENT_PHASES)
            for row, line in enumerate(lines) for phase in line.phases
        ],
        columns=["chain", "name", "start", "end", "wait_days", "before"],
    )  # fmt: skip
    for name in ("start", "end"):
        found[name] = pd.to_datetime(found[name])
    return found.astype({"before": bool})
