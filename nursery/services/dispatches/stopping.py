"""What stops people on their way to the plants of a load: fresh treatments and quarantine."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Dispatch
from nursery.models.dispatches import DispatchStatus
from nursery.services.health.quarantine import refusal, standing_quarantines
from nursery.services.health.reentry import Reentry, reentries_of_batches


@dataclass(frozen=True, slots=True)
class Stops:
    """By batch id: re-entry times that whoever fetches its plants meets, and why nothing of it leaves."""

    reentries: Mapping[int, Sequence[Reentry]] = field(default_factory=dict)
    held: Mapping[int, str] = field(default_factory=dict)
    #: Each re-entry time once, with the codes of the batches that it keeps from people.
    closed: Sequence[tuple[Reentry, str]] = ()

    @property
    def sentences(self) -> list[str]:
        """Everything, for paper."""
        kept = [f"{_('Do not go in.')} {codes}: {reentry.sentence}" for reentry, codes in self.closed]
        return [*kept, *dict.fromkeys(self.held.values())]


def stops_of(session: Session, load: Dispatch, *, now: dt.datetime) -> Stops:
    """Of a planned load; the plants of others have left. A fixed number of queries."""
    if load.status is not DispatchStatus.PLANNED:
        return Stops()
    codes = {line.batch_id: line.batch.code for line in load.lines}
    reentries = reentries_of_batches(session, codes, now=now)
    met: dict[int, tuple[Reentry, list[str]]] = {}
    for batch_id, code in codes.items():
        for reentry in reentries.get(batch_id, ()):
            met.setdefault(reentry.treatment_id, (reentry, []))[1].append(code)
    held = {batch_id: refusal(row) for batch_id, row in standing_quarantines(session, codes).items()}
    return Stops(reentries, held, [(reentry, ", ".join(of)) for reentry, of in met.values()])
