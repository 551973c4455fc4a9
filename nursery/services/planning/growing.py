"""What grows for a plan's targets already, read with its forecast for the calculation, and told line by line."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Lot
from nursery.planning.growing.forecast import together
from nursery.planning.growing.ready_days import is_ahead
from nursery.planning.growing.words import STAGES
from nursery.planning.heavy import pd
from nursery.planning.plan_growing import PART_COLUMNS, PlanGrowing
from nursery.services.batches.origins import batch_lots
from nursery.services.forecast.gathering import Known, know
from nursery.services.origin.gathering import read_lots

#: A part of fewer ready plants than this is none.
LEAST = 0.5


@dataclass(frozen=True)
class Growing:
    """For the calculation, and in words' place for each line: what `PlanLine.growing` and its phases keep."""

    planning: PlanGrowing | None
    #: By position of the line.
    batches: dict[int, list[dict[str, Any]]]
    #: Phases still ahead of the line's last batch, as `PlanLine.phases` has them.
    phases: dict[int, list[dict[str, Any]]]


def read_growing(
    session: Session, target_ids: pd.Series, *, today: dt.date, species_id: int | None = None, learned: bool = True
) -> Growing:
    """Batches that stand for these targets, and plants sent out to them; a fixed number of queries."""
    nothing = Growing(None, {}, {})
    if session.scalar(select(Batch.id).limit(1)) is None:
        return nothing
    known = know(session, species_id=species_id, learned=learned)
    line_of = {int(target): line for line, target in enumerate(target_ids)}
    standing = [line_of.get(batch.target_id or 0, -1) for batch in known.batches]
    sent = _sent(known, line_of)
    if not sent and all(line < 0 for line in standing):
        return nothing
    return _growing(session, known, standing, sent, len(line_of), today)


def _sent(known: Known, line_of: dict[int, int]) -> dict[tuple[int, int], int]:
    """Plants sent out by line and row of the batch, less those that came back."""
    found: defaultdict[tuple[int, int], int] = defaultdict(int)
    for at, batch in enumerate(known.batches):
        for _day, target_id, plants in known.dispatched.get(batch.id, ()):
            if target_id in line_of:
                found[line_of[target_id], at] += plants
    return {key: plants for key, plants in found.items() if plants > 0}


def _growing(
    session: Session, known: Known, standing: Sequence[int], sent: dict[tuple[int, int], int], count: int,
    today: dt.date,
) -> Growing:  # fmt: skip
    found, days = known.outlook(known.today()), known.ready_days(today)
    group = np.array(standing, np.int64)
    at = np.flatnonzero(group >= 0)
    sure = np.zeros(count, np.int64)
    for (line, _at), plants in sent.items():
        sure[line] += plants
    mine = type(found)(found.expected[at], found.plants[at], found.chances[at])
    sums = together(mine, group[at], count, sure)
    p10, p90 = found.p10.tolist(), found.p90.tolist()
    sown_on, ready_on = (np.full(count, np.datetime64("NaT", "D")) for _ in range(2))
    batches: defaultdict[int, list[dict[str, Any]]] = defaultdict(list)
    last: dict[int, int] = {}
    rows: list[tuple[int, int, float]] = []
    for key in sorted({*((line, int(row)) for row, line in zip(at, group[at].tolist(), strict=True)), *sent}):
        line, row = key
        batch, out, here = known.batches[row], sent.get(key, 0), standing[row] == line
        expected = float(found.expected[row]) if here else 0.0
        if not here and not out:
            continue
        day = days[row]
        batches[line].append(
            {
                "batch_id": batch.id, "code": batch.code, "expected": expected, "p10": p10[row] if here else 0,
                "p90": p90[row] if here else 0, "dispatched": out, "ready_on": day.isoformat() if day else None,
            }
        )  # fmt: skip
        rows.append((line, batch.id, expected + out))
        sown_on[line] = min(batch.sown_on, sown_on[line].item() or batch.sown_on)
        if day is not None and (np.isnat(ready_on[line]) or day >= ready_on[line].item()):
            ready_on[line], last[line] = day, row
    parts, lots = _parts(session, rows)
    planning = PlanGrowing(parts, lots, sums.expected, sums.levels, sown_on, ready_on)
    return Growing(planning, dict(batches), {line: _phases(known, row, days[row]) for line, row in last.items()})


def _parts(session: Session, rows: Sequence[tuple[int, int, float]]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Plants by line and lot, and the lots as the rules of origin take them."""
    shares = batch_lots(session, {batch_id for _line, batch_id, _plants in rows})
    plants: defaultdict[tuple[int, int], float] = defaultdict(float)
    for line, batch_id, number in rows:
        for lot_id, share in shares.get(batch_id, {}).items():
            plants[line, lot_id] += number * share
    kept = {key: number for key, number in sorted(plants.items()) if number >= LEAST}
    wanted = sorted({lot_id for _line, lot_id in kept})
    lots = read_lots(session, Lot.id.in_(wanted)).set_index("lot_id", drop=False).reindex(wanted)
    place = {lot_id: row for row, lot_id in enumerate(wanted)}
    table = [(line, place[lot_id], number) for (line, lot_id), number in kept.items()]
    types = dict(zip(PART_COLUMNS, (np.int64, np.int64, np.float64), strict=True))
    return pd.DataFrame(table, columns=list(PART_COLUMNS)).astype(types), lots.reset_index(drop=True)


def _phases(known: Known, row: int, ready_on: dt.date | None) -> list[dict[str, Any]]:
    """Phases ahead of a batch, backward from the day it is ready; those of degree-days share what is left."""
    batch, protocol = known.batches[row], known.protocols[row]
    ahead = [phase for phase in protocol.nursery if is_ahead(STAGES.index(batch.stage), phase.key)]
    if ready_on is None or not ahead:
        return []
    fixed = sum(round(phase.days or 0) for phase in ahead)
    warm = [phase for phase in ahead if phase.degree_days]
    left = max((ready_on - batch.stage_on).days - fixed, 0)
    found, end = [], ready_on
    for phase in reversed(ahead):
        length = left // len(warm) if phase.degree_days else round(phase.days or 0)
        start = end - dt.timedelta(days=length)
        found.append({"name": phase.key, "start": start.isoformat(), "end": end.isoformat(), "wait_days": 0})
        end = start
    return found[::-1]
