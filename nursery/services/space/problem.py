"""The levelling problem made of records: what may be shifted, moved or dropped, and where there is room."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Container
from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.space.choices import Areas, Options, Things
from nursery.planning.space.shifting import Shifts
from nursery.services.health.quarantine import all_standing
from nursery.services.space.items import Item
from nursery.services.space.lines import LineRow
from nursery.services.space.occupancy import Occupancy, Place, read_occupancy, spacing_of
from nursery.services.space.shifts import read_shifts


@dataclass(frozen=True)
class Problem:
    """What the search is given, and the records behind its numbers.

    ``item`` is the position in ``occupancy.items.rows`` of each thing; ``line`` that in ``occupancy.lines``, −1
    for a batch; ``shift`` that in ``shifts`` of each option, −1 where the planting day stays.
    """

    things: Things
    options: Options
    areas: Areas
    item: Ints
    line: Ints
    shift: Ints
    shifts: Shifts
    places: Sequence[Place]
    occupancy: Occupancy


def read_problem(session: Session, *, today: dt.date) -> Problem:
    """Everything in a fixed number of queries."""
    found = read_occupancy(session, today=today, weeks=None)
    places = [nursery.whole.place for nursery in found.nurseries]
    places += [bench.place for nursery in found.nurseries for bench in nursery.benches]
    shifts = read_shifts(
        session, found.lines, spacing_of(session), today=today, first=found.weeks[0], weeks=len(found.weeks)
    )
    homes = _homes(found, places)
    item = np.flatnonzero(homes >= 0)
    rows = [found.items.rows[at] for at in item.tolist()]
    line_at = {line.row.id: position for position, line in enumerate(found.lines)}
    line = np.array([line_at.get(row.line_id or 0, -1) for row in rows], np.int64)
    lines = [None if at < 0 else found.lines[at] for at in line.tolist()]
    elsewhere = _elsewhere(session, rows, lines, places)
    options, shift = _options(found.taken[item], homes[item], line, shifts, elsewhere)
    return Problem(
        things=Things(
            trays=np.array([row.trays for row in rows], np.int64),
            plants=np.array([row.plants for row in rows], np.int64),
            priority=np.array([_priority(one, today) for one in lines], np.int64),
        ),
        options=options,
        areas=_areas(places, found.taken * (homes < 0)[:, None], found.items.rows),
        item=item, line=line, shift=shift, shifts=shifts, places=places, occupancy=found,
    )  # fmt: skip


def _priority(line: LineRow | None, today: dt.date) -> int:
    """What stands, and what was begun, is not dropped."""
    return 0 if line is None or line.row.pretreat_on < today else int(line.row.priority)


def _homes(found: Occupancy, places: Sequence[Place]) -> Ints:
    """The place of each thing that may be changed; −1 for what stands on no bench in use."""
    nurseries = {place.nursery_id: at for at, place in enumerate(places) if place.bench_id is None}
    benches = {place.bench_id or 0: at for at, place in enumerate(places) if place.bench_id is not None}
    homes = [
        nurseries.get(row.nursery_id or 0, -1) if row.line_id is not None else benches.get(row.bench_id or 0, -1)
        for row in found.items.rows
    ]
    return np.array(homes, np.int64)


def _elsewhere(
    session: Session, rows: Sequence[Item], lines: Sequence[LineRow | None], places: Sequence[Place]
) -> list[tuple[int, int]]:
    """Other places of each thing, as pairs of thing and place.

    Trays of a batch may go to another bench of the nursery, unless plant health shut one of them off; a line may
    be sown in another nursery that has the same container.
    """
    shut = all_standing(session)
    shut_batches, shut_benches = {row.batch_id for row in shut}, {row.bench_id for row in shut if row.bench_id}
    benches: dict[int, list[int]] = {}
    for at, place in enumerate(places):
        if place.bench_id is not None and place.bench_id not in shut_benches:
            benches.setdefault(place.nursery_id, []).append(at)
    nurseries = {place.nursery_id: at for at, place in enumerate(places) if place.bench_id is None}
    twins = _twins(session, nurseries)
    found: list[tuple[int, int]] = []
    for thing, (row, line) in enumerate(zip(rows, lines, strict=True)):
        if line is not None:
            found += [(thing, at) for at in twins.get(line.row.container_id, ())]
        elif row.batch_id not in shut_batches and row.bench_id not in shut_benches:
            own = benches.get(row.nursery_id or 0, ())
            found += [(thing, at) for at in own if places[at].bench_id != row.bench_id]
    return found


def _twins(session: Session, nurseries: Mapping[int, int]) -> dict[int, list[int]]:
    """Places of other nurseries that have a container of the same name, cells and volume."""
    rows = session.execute(
        select(
            Container.id, Container.nursery_id, Container.name, Container.cells_per_tray, Container.cell_volume_cm3
        ).where(Container.archived_at.is_(None))
    ).all()
    found: dict[int, list[int]] = {}
    for one in rows:
        for other in rows:
            same = one[2:] == other[2:] and one.nursery_id != other.nursery_id
            if same and other.nursery_id in nurseries:
                found.setdefault(one.id, []).append(nurseries[other.nursery_id])
    return found


def _options(
    taken: Floats, homes: Ints, line: Ints, shifts: Shifts, elsewhere: Sequence[tuple[int, int]]
) -> tuple[Options, Ints]:
    """Home, the other days at home, and all of these at each other place of the thing."""
    count = len(homes)
    of_line = np.full(int(line.max(initial=-1)) + 1, -1)
    of_line[line[line >= 0]] = np.flatnonzero(line >= 0)
    # Lines that have no home here, such as those of a nursery put aside, are not shifted.
    shifted = np.flatnonzero(np.isin(shifts.line, line[line >= 0]))
    thing = np.concatenate([np.arange(count), of_line[shifts.line[shifted]]]).astype(np.int64)
    days = np.concatenate([np.zeros(count, np.int64), shifts.days[shifted]])
    shift = np.concatenate([np.full(count, -1), shifted])
    use = np.vstack([taken, shifts.use[shifted]])
    place = homes[thing]
    is_home: Bools = np.arange(len(thing)) < count
    if elsewhere:
        order = np.argsort(thing, kind="stable")
        each = np.bincount(thing, minlength=count)
        begin = np.cumsum(each) - each
        others, at = np.array(elsewhere, np.int64).T
        length = each[others]
        within = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length)
        copied = order[np.repeat(begin[others], length) + within]
        thing, days, shift = (np.concatenate([column, column[copied]]) for column in (thing, days, shift))
        use = np.vstack([use, use[copied]])
        place = np.concatenate([place, np.repeat(at, length)])
        is_home = np.concatenate([is_home, np.zeros(len(copied), np.bool_)])
    return Options(thing, days, place, is_home, use), shift


def _areas(places: Sequence[Place], fixed: Floats, rows: Sequence[Item]) -> Areas:
    """Every place is an area; what stands on a bench takes of its nursery too."""
    nursery = np.array([place.nursery_id for place in places], np.int64)
    is_bench = np.array([place.bench_id is not None for place in places], np.bool_)
    member = np.eye(len(places), dtype=np.bool_)
    member |= is_bench[:, None] & ~is_bench[None, :] & (nursery[:, None] == nursery[None, :])
    at = {place.nursery_id: number for number, place in enumerate(places) if place.bench_id is None}
    standing = np.zeros((len(places), fixed.shape[1]))
    owner = np.array([at.get(row.nursery_id or 0, -1) for row in rows], np.int64)
    np.add.at(standing, owner[owner >= 0], fixed[owner >= 0])
    room = np.array([np.nan if place.area_m2 is None else place.area_m2 for place in places], np.float64)
    return Areas(member, room, standing)
