"""What stands or will stand in a nursery: trays of batches and plan lines still to sow, with their days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Dates, Floats, Ints
from nursery.planning.space.occupancy import OFF_BENCH, Spans, stage_codes

PRICKING_OUT = "pricking-out"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that takes room: trays of a batch on a bench (or on none yet), or a plan line still to sow."""

    #: Of the batch, or of the plan line; the other is None.
    batch_id: int | None
    line_id: int | None
    nursery_id: int | None
    bench_id: int | None
    #: The batch's code, or nothing for a line.
    code: str
    species_name: str
    site_name: str
    trays: int
    plants: int
    priority: int
    #: The day it leaves; None where none is known, and then it stays.
    out_on: dt.date | None


@dataclass(frozen=True)
class Items:
    """Things with their stays; ``spans.item`` is the position in ``rows``."""

    rows: Sequence[Item]
    spans: Spans

    def joined(self, other: Items) -> Items:
        """Both, one after the other."""
        moved = Spans(
            other.spans.item + len(self.rows), other.spans.start, other.spans.end, other.spans.stage,
            other.spans.ground,
        )  # fmt: skip
        return Items([*self.rows, *other.rows], self.spans.joined(moved))


@dataclass
class Phases:
    """Rows of phases of different length, to be made into arrays with the last phase in the last column."""

    names: list[list[str]]
    grounds: list[list[float]]

    @classmethod
    def none(cls) -> Phases:
        """No rows yet."""
        return cls([], [])

    def add(self, names: Sequence[str], tray_m2: float, flats_m2: float | None) -> None:
        """One row: on ``tray_m2`` of trays, or on ``flats_m2`` until seedlings are pricked out."""
        turn = names.index(PRICKING_OUT) + 1 if flats_m2 is not None and PRICKING_OUT in names else 0
        early = tray_m2 if flats_m2 is None else flats_m2
        self.names.append(list(names))
        self.grounds.append([early if position < turn else tray_m2 for position in range(len(names))])

    @property
    def width(self) -> int:
        """Columns of the arrays."""
        return max(map(len, self.names), default=0) or 1

    def stages(self) -> Ints:
        """Stages by row and column."""
        if not self.names:
            return np.full((0, 1), OFF_BENCH)
        return stage_codes(padded(self.names, self.width, ""))

    def ground(self) -> Floats:
        """Ground in m² by row and column."""
        return np.asarray(padded(self.grounds, self.width, 0.0), np.float64)


def padded(rows: Sequence[Sequence[object]], width: int, empty: object) -> np.ndarray:
    """Rows of equal length, filled in front."""
    full = [[empty] * (width - len(row)) + list(row) for row in rows]
    return np.array(full, dtype=object).reshape(len(rows), width)


def as_days(rows: np.ndarray) -> Dates:
    """Days as numpy knows them; nothing for None."""
    return rows.astype("datetime64[D]")
