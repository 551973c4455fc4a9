"""Marks of the connected parts of a plan: a part whose mark stays the same is reckoned as it was before."""

from __future__ import annotations

import zlib
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from nursery.planning.allocation.parts import labels
from nursery.planning.arrays import Ints
from nursery.planning.heavy import pd
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_origin import line_terms

Marks = NDArray[np.uint64]

_OF_PAIR = ["viability", "perishable", "verdict", "cautions", "source", "distance_m", "decision_id", "pinned"]


def part_marks(inputs: PlanInputs, row: Ints, offers: pd.DataFrame) -> Marks:
    """A mark of each line's part, made of everything that its lines, lots and pairs bring to the calculation.

    The plan in force, near which a new plan stays, is not in it.

    Returns
    -------
    ndarray of uint64, shape (lines,)
    """
    line, lot = offers["line"].to_numpy(), offers["lot"].to_numpy()
    lines, lots = _line_marks(inputs, row), _marks(inputs.lots) + _marks(_plain(inputs.origin.lots)) * np.uint64(3)
    count = len(inputs.lines)
    if not len(offers):
        return lines
    of_pair = labels(line, lot, count, len(inputs.lots))
    # A line without offers is a part of its own.
    part = np.arange(count) + int(of_pair.max()) + 1
    part[line] = of_pair
    sums = np.zeros(int(part.max()) + 1, np.uint64)
    np.add.at(sums, part, lines)
    drawn, first = np.unique(lot, return_index=True)
    np.add.at(sums, of_pair[first], lots[drawn])
    np.add.at(sums, of_pair, _marks(offers[["target_id", "lot_id", *_OF_PAIR]]))
    return sums[part]


def _line_marks(inputs: PlanInputs, row: Ints) -> Marks:
    protocols, terms = inputs.protocols, line_terms(inputs.origin)
    phases = np.column_stack([protocols.days, protocols.degree_days, protocols.base_c, protocols.sow_at])[row]
    asked = np.column_stack([getattr(terms, field.name) for field in fields(terms)])
    common = zlib.crc32(repr((inputs.costs, inputs.spare_trays)).encode())
    parts = (
        inputs.lines.drop(columns="protocol_row"),
        protocols.table.iloc[row].reset_index(drop=True),
        pd.DataFrame(phases),
        pd.DataFrame(inputs.normals),
        pd.DataFrame(asked),
    )
    marks = np.full(len(inputs.lines), common, np.uint64)
    for number, table in enumerate(parts):
        marks += _marks(table) * np.uint64(2 * number + 1)
    growing = inputs.growing
    if growing is not None:
        grown, secured = growing.parts, growing.secured(inputs.lines["assurance"].to_numpy())
        lot_id = growing.lots["lot_id"].to_numpy()[grown["lot"].to_numpy(np.int64)]
        np.add.at(marks, grown["line"].to_numpy(np.int64), _marks(grown.assign(lot=lot_id).drop(columns="line")))
        marks += np.where(growing.some, _marks(pd.DataFrame({"secured": secured})), np.uint64(0))
    return marks


def _plain(table: pd.DataFrame) -> pd.DataFrame:
    """Words of the law and other objects as their texts, so that they can be hashed."""
    objects = {name: table[name].astype(str) for name in table.columns if table[name].dtype == object}
    return table.assign(**objects)


def _marks(table: pd.DataFrame) -> Marks:
    return np.asarray(pd.util.hash_pandas_object(table.reset_index(drop=True), index=False), np.uint64)
