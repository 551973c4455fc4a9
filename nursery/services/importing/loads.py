"""What a file of plantings may name beside lots: batches with their lots, loads with what is left of them."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import format_date, ngettext
from nursery.i18n import gettext as _
from nursery.models import Batch, Dispatch, DispatchLine, Planting

#: More lines than any nursery sends; the reader of loads wants a limit.
_ALL = 1_000_000


@dataclass(frozen=True, slots=True)
class Line:
    """Plants of one batch in a load."""

    id: int
    load: str
    site_id: int
    batch_id: int
    batch: str
    #: Empty while the load has not arrived.
    received_on: dt.date | None
    #: Of what arrived, the plants in no planting; and those of plantings that name no load but can be of this one.
    left: int
    unnamed: int


@dataclass(slots=True)
class Loads:
    """Loads and batches as they are, and what the rows read so far take of each load."""

    lines: Mapping[int, Sequence[Line]] = field(default_factory=dict)
    by_line: Mapping[int, Line] = field(default_factory=dict)
    lots: Mapping[int, Mapping[int, float]] = field(default_factory=dict)
    #: Site, lot, day and kind of plantings on record without their batch.
    without_batch: frozenset[tuple[Any, ...]] = frozenset()
    taken: Counter[int] = field(default_factory=Counter)

    def line_of(self, load_id: int, *, lot_id: int | None, batch_id: int | None) -> Line | str:
        """The line by which plants of a batch, or of a lot, came; else why there is none."""
        lines = self.lines.get(load_id, ())
        if not lines:
            return _("This load holds no plants. Correct the load, or leave it empty.")
        fits = [
            line for line in lines
            if (line.batch_id == batch_id if batch_id is not None else lot_id in self.lots.get(line.batch_id, {}))
        ]  # fmt: skip
        if not fits:
            return _(
                "This load brought %(batches)s, not the plants of this row. Correct the load, the batch or the"
                " lot.",
                batches=", ".join(sorted({line.batch for line in lines})),
            )
        if len({line.batch_id for line in fits}) > 1:
            return _(
                "This load brought plants of this lot in %(batches)s. Name the batch too.",
                batches=", ".join(sorted({line.batch for line in fits})),
            )
        return max(fits, key=lambda line: (line.left - self.taken[line.id], -line.id))

    def refuse(self, merged: Mapping[str, Any], before: Mapping[str, Any] | None) -> dict[str, str]:
        """What is wrong about batch and load of a planting; plants of earlier rows of the file count."""
        batch_id, line = merged.get("batch_id"), self.by_line.get(merged.get("dispatch_line_id") or 0)
        if batch_id is not None and merged.get("lot_id") not in self.lots.get(batch_id, {}):
            return {"batch_id": _("This batch holds no plants of the lot of this row. Correct one of them.")}
        if line is None or merged.get("planted_on") is None or merged.get("plants") is None:
            return {}
        if line.received_on is None:
            return {"dispatch_line_id": _("This load has not arrived. Write down first who took it over.")}
        if line.site_id != merged.get("site_id") or batch_id not in {None, line.batch_id}:
            told = _("Load %(load)s went to another site. Correct the load or the site.", load=line.load)
            return {"dispatch_line_id": told}
        if merged["planted_on"] < line.received_on:
            told = _(
                "%(day)s is before load %(load)s arrived, on %(arrived)s. Correct the day.",
                day=format_date(merged["planted_on"]),
                load=line.load,
                arrived=format_date(line.received_on),
            )
            return {"planted_on": told}
        return self._beyond(line, int(merged["plants"]), before)

    def _beyond(self, line: Line, plants: int, before: Mapping[str, Any] | None) -> dict[str, str]:
        own = _own(line, before) if before else 0
        left = max(line.left - self.taken[line.id] + own, 0)
        if plants > max(left, own):
            told = _(
                "Of load %(load)s, %(plants)s of %(batch)s are left to be planted. Write down no more than that.",
                load=line.load,
                plants=ngettext("%(num)s plant", "%(num)s plants", left),
                batch=line.batch,
            )
            return {"plants": told}
        self.taken[line.id] += plants - own
        return {}


def _own(line: Line, before: Mapping[str, Any]) -> int:
    """Plants of a line that the planting on record holds already, by name or because they can be no others."""
    if before["dispatch_line_id"] == line.id:
        return int(before["plants"])
    fills = before["dispatch_line_id"] is None and (before["batch_id"], before["site_id"]) == (
        line.batch_id, line.site_id,
    )  # fmt: skip
    return min(int(before["plants"]), line.unnamed) if fills else 0


def read_loads(session: Session) -> Loads:
    """All loads that went and all batches; a fixed number of queries."""
    # Batches have tasks, tasks have zones, and zones come from files: asked for only once all are loaded.
    from nursery.services.batches.origins import batch_lots  # noqa: PLC0415
    from nursery.services.plantings.arrived import open_lines  # noqa: PLC0415

    open_now = {line.line_id: line for line in open_lines(session, named=None, most=_ALL)}
    lines: dict[int, list[Line]] = defaultdict(list)
    rows = session.execute(
        select(
            DispatchLine.id, Dispatch.id, Dispatch.code, Dispatch.site_id, DispatchLine.batch_id, Batch.code,
            Dispatch.received_on,
        )
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .join(Batch, DispatchLine.batch_id == Batch.id)
        .where(Dispatch.archived_at.is_(None))
        .order_by(DispatchLine.id)
    )  # fmt: skip
    for line_id, load_id, load, site_id, batch_id, batch, received_on in rows:
        known = open_now.get(line_id)
        left, unnamed = (known.left, known.unnamed) if known else (0, 0)
        lines[load_id].append(Line(line_id, load, site_id, batch_id, batch, received_on, left, unnamed))
    bare = select(Planting.site_id, Planting.lot_id, Planting.planted_on, Planting.is_replacement)
    found = session.execute(bare.where(Planting.batch_id.is_(None), Planting.archived_at.is_(None)))
    return Loads(
        lines=lines,
        by_line={line.id: line for some in lines.values() for line in some},
        lots=batch_lots(session, session.scalars(select(Batch.id))),
        without_batch=frozenset(tuple(row) for row in found),
    )
