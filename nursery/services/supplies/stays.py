"""When trays are filled, how long they stay full, and for how many plants: of plan lines and of batches."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Container, Plan
from nursery.planning.rounding import whole
from nursery.planning.words import Method
from nursery.services.space.growing import leaving_days, phases_ahead, protocol_phases, read_batches
from nursery.services.space.items import PRICKING_OUT
from nursery.services.space.lines import LineRow, read_lines

#: A batch of which nobody knows when it leaves is fed as for a year from its sowing; common practice, no source.
_USUAL_DAYS = 365


@dataclass(frozen=True, slots=True)
class Stay:
    """Trays of one container, from the day they are filled to the day they come back (None: not known).

    ``is_full`` tells those that were filled already. ``sown_on``: the day of sowing, earlier than the filling
    where seed is first sown in ``flats``.
    """

    container_id: int | None
    cells_per_tray: int
    volume_cm3: float
    trays: int
    filled_on: dt.date
    back_on: dt.date | None
    sown_on: dt.date
    flats: int
    plants: int
    is_full: bool


def read_stays(session: Session, plan: Plan | None, *, today: dt.date) -> list[Stay]:
    """All stays that lie ahead or have begun, in a fixed number of queries."""
    lines = read_lines(session, plan, today=today)
    batches = read_batches(session)
    containers = {row.id: row for row in session.scalars(select(Container))}
    leaving = leaving_days(session, batches, plan)
    protocols = protocol_phases(session, [batch for batch in batches if batch.line is None])
    found = [_of_line(line) for line in lines]
    for batch in batches:
        ahead = phases_ahead(batch, protocols.get(batch.id, ()), today)
        found.append(_of_batch(batch, ahead, containers, leaving.get(batch.id), today))
    return found


def _of_line(line: LineRow) -> Stay:
    row = line.row
    filled = row.sow_on
    if row.method is Method.PRICKED_OUT:
        starts = [phase["start"] for phase in row.phases if phase["name"] == PRICKING_OUT]
        filled = dt.date.fromisoformat(starts[0]) if starts else filled
    return Stay(
        container_id=row.container_id, cells_per_tray=row.cells_per_tray or 0,
        volume_cm3=row.cell_volume_cm3 or 0.0, trays=line.trays, filled_on=filled, back_on=row.plant_on,
        sown_on=row.sow_on, flats=line.flats, plants=line.plants, is_full=False,
    )  # fmt: skip


def _of_batch(
    batch: Batch, ahead: Sequence[tuple[str, int]], containers: dict[int, Container], out_on: dt.date | None,
    today: dt.date,
) -> Stay:  # fmt: skip
    container, trays, filled = batch.container, batch.trays, batch.sown_on
    in_flats = batch.method is Method.PRICKED_OUT and batch.cells_per_tray is None
    is_full = not in_flats
    if in_flats and batch.line is not None and batch.line.seeds:
        container = containers.get(batch.line.container_id or 0, container)
        trays = int(whole(batch.line.trays * min(batch.seeds / batch.line.seeds, 1.0)))
        filled = max(batch.stage_on + dt.timedelta(days=sum(_before_pricking(ahead))), today)
    elif in_flats:
        container, trays = None, 0  # how many trays it will fill is not known before it is counted
    back = out_on or batch.sown_on + dt.timedelta(days=_USUAL_DAYS)
    return Stay(
        container_id=container.id if container else None,
        cells_per_tray=container.cells_per_tray if container else 0,
        volume_cm3=container.cell_volume_cm3 if container else 0.0, trays=trays, filled_on=filled,
        back_on=None if out_on is None else max(back, today), sown_on=batch.sown_on, flats=0, plants=batch.alive,
        is_full=is_full,
    )  # fmt: skip


def _before_pricking(ahead: Sequence[tuple[str, int]]) -> Iterator[int]:
    for name, days in ahead:
        if name == PRICKING_OUT:
            return
        yield days
