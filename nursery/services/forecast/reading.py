"""The forecast of every batch from what was counted of it last, for any page that shows batches."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.planning.growing.words import STAGES, Stage
from nursery.services.forecast.gathering import Known, know
from nursery.services.forecast.story import Asked, Point, stories


@dataclass(frozen=True, slots=True)
class BatchForecast:
    """Plants that a batch will have ready. What it has sent out already is beside it, in ``dispatched``."""

    batch_id: int
    #: Ready plants of those that stand in the nursery; in eight of ten cases between ``p10`` and ``p90``.
    expected: float
    p10: int
    p90: int
    #: The day on which they will be ready; None where the nursery is never warm enough.
    ready_on: dt.date | None
    #: The stage at which it was counted last, and when; before any count sown, and its sowing day.
    stage: Stage
    counted_on: dt.date
    #: Plants sent out, less those that came back.
    dispatched: int

    @property
    def total(self) -> float:
        """Plants that the batch gives in all: sent out, and expected to be ready."""
        return self.expected + self.dispatched


def batch_forecasts(
    session: Session, *, today: dt.date, batch_ids: Collection[int] | None = None
) -> Mapping[int, BatchForecast]:
    """Forecast of all batches, or of those named, by batch id; a fixed number of queries."""
    return forecasts_of(know(session, batch_ids=batch_ids), today)


def batch_outlook(session: Session, batch_id: int, *, today: dt.date) -> tuple[BatchForecast, list[Point]] | None:
    """A batch's forecast, and how it moved count by count; None for a species without figures."""
    known = know(session, batch_ids=[batch_id])
    if not known.batches:
        return None
    sent = sum(plants for _day, _target, plants in known.dispatched.get(batch_id, ()))
    points = stories(known, {0: [0]}, {0: Asked(0, 0.8, max(sent, 0))}, today)[0]
    return forecasts_of(known, today)[batch_id], points


def forecasts_of(known: Known, today: dt.date) -> dict[int, BatchForecast]:
    """Forecast of every batch that was read, by its id."""
    if not known.batches:
        return {}
    moments = known.today()
    found, days = known.outlook(moments), known.ready_days(today)
    p10, p90 = found.p10.tolist(), found.p90.tolist()
    forecasts = {}
    for at, (batch, moment) in enumerate(zip(known.batches, moments, strict=True)):
        counts = known.counts.get(batch.id, ())
        forecasts[batch.id] = BatchForecast(
            batch_id=batch.id,
            expected=float(found.expected[at]),
            p10=p10[at],
            p90=p90[at],
            ready_on=days[at],
            stage=STAGES[moment.stage],
            counted_on=counts[-1].counted_on if counts else batch.sown_on,
            dispatched=sum(plants for _day, _target, plants in known.dispatched.get(batch.id, ())),
        )
    return forecasts
