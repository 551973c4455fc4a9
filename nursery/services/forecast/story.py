"""How a target's forecast moved: what was known after sowing, after each count, and what is known today."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from nursery.planning.growing.forecast import Outlook, together
from nursery.planning.growing.words import Stage
from nursery.planning.plan_growing import CLOSE
from nursery.services.forecast.gathering import Known, Moment


@dataclass(frozen=True, slots=True)
class Point:
    """What was to be expected in all, those sent out included, once something was known."""

    kind: Literal["sown", "counted", "today"]
    day: dt.date
    expected: float
    p10: int
    p90: int
    #: Chance of what was promised.
    chance: float
    #: Plants that hold with the chance asked for.
    secured: int
    #: Of a count: the batch and the stage; empty otherwise.
    batch_id: int | None = None
    code: str = ""
    stage: Stage | None = None
    counted: int | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """What a group of batches must give, with which chance."""

    promised: int
    assurance: float
    sent: int = 0


@dataclass(frozen=True, slots=True)
class _Event:
    kind: Literal["sown", "counted", "today"]
    day: dt.date
    #: Positions of the moments that hold then, one for each batch, and plants sent out by then.
    moments: tuple[int, ...]
    sent: int
    at: int | None = None
    stage: Stage | None = None
    counted: int | None = None


def stories(
    known: Known, groups: Mapping[int, Sequence[int]], asked: Mapping[int, Asked], today: dt.date,
    *, whole: bool = True,
) -> dict[int, list[Point]]:  # fmt: skip
    """Points of each group of batches (rows of ``known.batches``) in order of time; the last one is today's.

    Only that one unless ``whole``. Each point rests on the rates as they were known then. Batches that were sown
    later than a point are taken as they were reckoned at their sowing: all points speak of the same promise.
    """
    moments: list[Moment] = []
    events: list[tuple[int, _Event]] = []
    now = known.today()
    for group, rows in groups.items():
        found = _events(known, rows, moments, today) if whole else []
        last = tuple(_put(moments, now[row]) for row in rows)
        found.append(_Event("today", today, last, asked[group].sent))
        events += [(group, event) for event in found]
    if not events:
        return {}
    outlook = known.outlook(moments)
    place = np.array([moment for _group, event in events for moment in event.moments], np.int64)
    of_event = np.repeat(np.arange(len(events)), [len(event.moments) for _group, event in events])
    chosen = Outlook(outlook.expected[place], outlook.plants[place], outlook.chances[place])
    sums = together(chosen, of_event, len(events), np.array([event.sent for _group, event in events]))
    promised = np.array([asked[group].promised for group, _event in events])
    level = np.array([1 - asked[group].assurance + CLOSE for group, _event in events])
    p10, p90, chance, secured = sums.p10, sums.p90, sums.chance(promised), sums.at(level)
    told: defaultdict[int, list[Point]] = defaultdict(list)
    for row, (group, event) in enumerate(events):
        batch = None if event.at is None else known.batches[event.at]
        told[group].append(
            Point(
                kind=event.kind,
                day=event.day,
                expected=float(sums.expected[row]),
                p10=int(p10[row]),
                p90=int(p90[row]),
                chance=float(chance[row]),
                secured=int(secured[row]),
                batch_id=batch.id if batch else None,
                code=batch.code if batch else "",
                stage=event.stage,
                counted=event.counted,
            )
        )
    return dict(told)


def _put(moments: list[Moment], moment: Moment) -> int:
    moments.append(moment)
    return len(moments) - 1


def _events(known: Known, rows: Sequence[int], moments: list[Moment], today: dt.date) -> list[_Event]:
    """Sowing, and counts by day; moments are added to the list that all groups share."""
    holds = {row: _put(moments, Moment(row, on=known.batches[row].sown_on)) for row in rows}
    out = dict.fromkeys(rows, 0)
    first = min((known.batches[row].sown_on for row in rows), default=today)
    found = [_Event("sown", first, tuple(holds.values()), 0)]
    counts = sorted(
        ((count, row) for row in rows for count in known.counts.get(known.batches[row].id, ())),
        key=lambda one: (one[0].counted_on, one[0].id),
    )
    for count, row in counts:
        holds[row] = _put(moments, known.after(row, count))
        acts = known.dispatched.get(known.batches[row].id, ())
        out[row] = sum(plants for day, _target, plants in acts if day < count.counted_on)
        found.append(
            _Event(
                "counted", count.counted_on, tuple(holds.values()), sum(out.values()), row,
                count.stage, count.plants,
            )
        )  # fmt: skip
    return found
