"""Other planting days that lines of the plan could have, read from records: windows, protocols, seed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Draw, Lot, Nursery, StoragePlace
from nursery.planning.arrays import Dates, Floats
from nursery.planning.heavy import pd
from nursery.planning.space.shifting import Shiftable, Shifts, possible_shifts
from nursery.services.catalogue import effective_entries
from nursery.services.keeping import courses
from nursery.services.lot_figures import lot_figures
from nursery.services.planning.gather import UNKNOWN_NORMAL_C
from nursery.services.planning.protocols import protocol_rows
from nursery.services.space.lines import LineRow
from nursery.services.weeks import Week


def is_shiftable(line: LineRow, today: dt.date) -> bool:
    """Whether its planting day may be looked for: nobody pinned it, and its work has not begun."""
    row = line.row
    return row.pinned_on is None and row.pretreat_on >= today and bool(row.window) and row.nursery_id is not None


def read_shifts(
    session: Session, lines: Sequence[LineRow], spacing: Floats, *, today: dt.date, first: Week, weeks: int
) -> Shifts:
    """Possible days of all lines; ``line`` is the position in ``lines``."""
    wanted = [position for position, line in enumerate(lines) if is_shiftable(line, today)]
    rows = [lines[position].row for position in wanted]
    entries = effective_entries(session, {row.species_id for row in rows})
    known = [number for number, row in enumerate(rows) if row.species_id in entries]
    rows, wanted = [rows[number] for number in known], [wanted[number] for number in known]
    protocols = protocol_rows({key: entries[key] for key in dict.fromkeys(row.species_id for row in rows)})
    nurseries = {row.id: row for row in session.scalars(select(Nursery))}
    until = _seed_until(session, {row.id for row in rows}, today=today)
    species, keys = [row.species_id for row in rows], [row.protocol for row in rows]
    chosen = protocols.rows_of(pd.Series(species, dtype=np.int64), pd.Series(keys, dtype=object))
    shiftable = Shiftable(
        line=np.array(wanted, np.int64),
        protocol_row=chosen,
        southern=np.array([nurseries[row.nursery_id].latitude < 0 for row in rows], np.bool_),
        normals=_normals([nurseries[row.nursery_id] for row in rows]),
        plant_on=_days([row.plant_on for row in rows]),
        opens=_days([row.window[0] for row in rows]),
        closes=_days([row.window[1] for row in rows]),
        seed_from=_days([row.collect_by for row in rows]),
        seed_until=_days([until.get(row.id) for row in rows]),
        tray_m2=np.array([lines[at].trays * lines[at].tray_m2 for at in wanted], np.float64),
        flats_m2=np.array([np.nan if (m2 := lines[at].flats_m2) is None else m2 for at in wanted], np.float64),
    )
    return possible_shifts(
        shiftable, protocols.planning, spacing, today=np.datetime64(today, "D"),
        first=np.datetime64(first.monday, "D"), weeks=weeks,
    )  # fmt: skip


def _seed_until(session: Session, line_ids: Collection[int], *, today: dt.date) -> Mapping[int, dt.date]:
    """The last day on which the first of a line's lots to fail is still worth sowing."""
    if not line_ids:
        return {}
    # Lines of a plan are written together, so that their numbers stand together too.
    near = select(Draw.line_id, Draw.lot_id).where(Draw.line_id.between(min(line_ids), max(line_ids)))
    draws = [(line, lot) for line, lot in session.execute(near) if line in line_ids]
    found = session.execute(
        select(
            Lot.id.label("lot_id"), Lot.species_id, Lot.material, Lot.amount_mg, Lot.pieces, Lot.purity, Lot.tsw_g,
            Lot.germination, Lot.tested_on, Lot.collected_on, Lot.moisture_pct, StoragePlace.temperature_c,
            Lot.moisture_on, Lot.stored_on, Lot.harmed_on,
        ).outerjoin(Lot.storage_place)
    )  # fmt: skip
    drawn = {lot for _line, lot in draws}
    lots = pd.DataFrame([tuple(row) for row in found if row.lot_id in drawn], columns=list(found.keys()))
    if lots.empty:
        return {}
    entries = effective_entries(session, set(lots["species_id"]))
    lots = lots[lots["species_id"].isin(list(entries))].reset_index(drop=True)
    table = courses(lot_figures(lots, entries), entries, today)
    last = dict(zip(table["lot_id"].tolist(), (day.date() for day in table["last_on"]), strict=True))
    until: dict[int, dt.date] = {}
    for line, lot in draws:
        if lot in last:
            until[line] = min(until.get(line, last[lot]), last[lot])
    return until


def _days(found: Sequence[dt.date | str | None]) -> Dates:
    return np.array(found, dtype="datetime64[D]")


def _normals(nurseries: Sequence[Nursery]) -> Floats:
    rows = [nursery.monthly_mean_c or [UNKNOWN_NORMAL_C] * 12 for nursery in nurseries]
    return np.array(rows, np.float64).reshape(-1, 12)
