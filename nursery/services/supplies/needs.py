"""What the weeks ahead take of trays, substrate and the rest, from the plan in force and what grows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy.orm import Session

from nursery.planning.arrays import Bools, Dates, Floats, Ints
from nursery.planning.space.occupancy import Spans, by_place, weekly
from nursery.planning.space.supplies import FLAT_LITRES, by_week
from nursery.planning.work.costs import substrate_litres
from nursery.services.planning.plans import current_plan
from nursery.services.space.occupancy import WEEKS
from nursery.services.supplies.stays import Stay, read_stays
from nursery.services.weeks import Week

_NEVER = dt.date(9999, 1, 1)


@dataclass(frozen=True)
class Needs:
    """By week: trays by container (in the order of ``containers``), litres of substrate, plants sown, feed.

    ``full`` counts trays that stand full on any day of the week, ``filled`` those filled in it, ``back`` those
    that come back. ``fed`` is the part of the plants' feed that falls into the week, in plants.
    """

    weeks: Sequence[Week]
    containers: Sequence[int]
    full: Floats
    filled: Floats
    back: Floats
    litres: Floats
    sown: Floats
    fed: Floats


def read_needs(session: Session, *, today: dt.date, weeks: int = WEEKS) -> Needs:
    """A year from this week on."""
    stays = read_stays(session, current_plan(session), today=today)
    start = Week.of(today)
    first = np.datetime64(start.monday, "D")
    containers = sorted({stay.container_id for stay in stays if stay.container_id is not None})
    position = {container: at for at, container in enumerate(containers)}
    row = np.array([position.get(stay.container_id or 0, -1) for stay in stays], np.int64)
    trays = np.array([stay.trays for stay in stays], np.float64)
    filled_on, back_on = (
        _days([getattr(stay, name) or _NEVER for stay in stays]) for name in ("filled_on", "back_on")
    )
    fresh = np.array([not stay.is_full for stay in stays], np.bool_)
    known = row >= 0
    litres = substrate_litres(
        trays * np.array([stay.cells_per_tray for stay in stays], np.float64), [stay.volume_cm3 for stay in stays]
    )
    flats = np.array([stay.flats for stay in stays], np.float64) * FLAT_LITRES
    sown_on = _days([stay.sown_on for stay in stays])
    one = np.zeros(len(stays), np.int64)
    to_sow = fresh & (sown_on >= np.datetime64(today, "D"))

    def added(day: Dates, amounts: Floats, keep: Bools, rows: Ints = one, count: int = 1) -> Floats:
        return by_week(day[keep], amounts[keep], rows[keep], count, first, weeks)

    return Needs(
        weeks=[start.plus(number) for number in range(weeks)],
        containers=containers,
        full=by_place(_standing(trays, filled_on, back_on, first, weeks), row, len(containers)),
        filled=added(filled_on, trays, known & fresh, row, len(containers)),
        back=added(back_on, trays, known, row, len(containers)),
        litres=added(filled_on, litres, fresh)[0] + added(sown_on, flats, to_sow)[0],
        sown=added(sown_on, np.array([stay.plants for stay in stays], np.float64), to_sow)[0],
        fed=_fed(stays, sown_on, back_on, first, weeks),
    )


def _standing(trays: Floats, start: Dates, end: Dates, first: np.datetime64, weeks: int) -> Floats:
    count = len(trays)
    spans = Spans(np.arange(count), start, end, np.zeros(count, np.int64), trays)
    return weekly(spans, np.ones(1), count, first, weeks)


def _fed(stays: Sequence[Stay], sown_on: Dates, back_on: Dates, first: np.datetime64, weeks: int) -> Floats:
    """Each plant's feed is spread evenly over its weeks in the nursery."""
    plants = np.array([stay.plants for stay in stays], np.float64)
    until = np.minimum(back_on, sown_on + np.timedelta64(365, "D"))
    life = np.maximum((until - sown_on).astype(np.float64) / 7, 1.0)
    return np.asarray(_standing(plants / life, sown_on, until, first, weeks).sum(axis=0))


def _days(found: Sequence[dt.date]) -> Dates:
    return np.array(found, dtype="datetime64[D]")
