"""Standard times: hours that a thousand units of a job take one person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats
from nursery.planning.work.words import Job, Unit

#: No handbook that could be read gives hours of nursery work by the thousand; these are rounded from what small
#: nurseries without machines commonly reckon with. Own figures replace them.
COMMON_PRACTICE = "common practice, no source"
#: The nursery's own figure.
OWN = "own"


@dataclass(frozen=True, slots=True)
class StandardTime:
    """Hours of one person for 1,000 units, what the units are, and where the figure comes from."""

    hours_per_1000: float
    unit: Unit
    basis: str = COMMON_PRACTICE


#: By hand, tools at the ready, way and clearing up included; one round of what is done again and again.
WORKING_TIMES: Mapping[Job, StandardTime] = {
    Job.NOTICE: StandardTime(500.0, Unit.LOTS),
    Job.COLLECT: StandardTime(8_000.0, Unit.LOTS),
    Job.RETEST: StandardTime(1_000.0, Unit.LOTS),
    Job.WITHDRAW: StandardTime(250.0, Unit.LOTS),
    Job.SOAK: StandardTime(250.0, Unit.LOTS),
    Job.SCARIFY: StandardTime(750.0, Unit.LOTS),
    Job.STRATIFY: StandardTime(500.0, Unit.LOTS),
    Job.CHECK: StandardTime(250.0, Unit.LOTS),
    Job.SOW: StandardTime(2.5, Unit.CELLS),
    Job.PRICK_OUT: StandardTime(6.0, Unit.PLANTS),
    Job.THIN: StandardTime(1.0, Unit.CELLS),
    Job.MOVE: StandardTime(20.0, Unit.TRAYS),
    Job.FEED: StandardTime(2.0, Unit.TRAYS),
    Job.WATER: StandardTime(2.0, Unit.TRAYS),
    Job.WEED: StandardTime(15.0, Unit.TRAYS),
    Job.COUNT: StandardTime(15.0, Unit.TRAYS),
    Job.HARDEN: StandardTime(20.0, Unit.TRAYS),
    Job.GRADE: StandardTime(4.0, Unit.PLANTS),
    Job.DISPATCH: StandardTime(2.0, Unit.PLANTS),
    Job.SURVEY: StandardTime(8.0, Unit.PLANTS),
}


def hours(
    job: Job | Sequence[Job], amount: ArrayLike, times: Mapping[Job, StandardTime] = WORKING_TIMES
) -> Floats:
    """Hours that amounts of work take one person.

    Parameters
    ----------
    job : Job or sequence of Job
        One job for all amounts, or one job an amount.
    amount : array_like
        In the job's own unit (``times[job].unit``), any shape that goes with ``job``; not below zero.
    times : mapping
        Standard times; the working figures unless the nursery has its own.

    Returns
    -------
    ndarray of float64
        ``amount × hours_per_1000 ÷ 1000``.

    Raises
    ------
    ValueError
        Where an amount is below zero or not finite.

    Examples
    --------
    >>> float(hours(Job.SOW, 8000))
    20.0
    >>> hours([Job.SOW, Job.GRADE], [1000, 500]).tolist()
    [2.5, 2.0]
    """
    amounts = np.asarray(amount, np.float64)
    if not np.all(np.isfinite(amounts) & (amounts >= 0)):
        raise ValueError("an amount of work is below zero or not finite")
    jobs = [job] if isinstance(job, Job) else job
    rates = np.array([times[one].hours_per_1000 for one in jobs], np.float64)
    return amounts * (rates[0] if isinstance(job, Job) else rates) / 1000
