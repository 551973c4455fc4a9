"""Plants that the plant-health service is asked about before they leave, and when somebody last looked at them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.catalog.law import HostFlag
from nursery.catalog.law_words import BASIS_LABELS
from nursery.i18n import gettext as _
from nursery.models import Batch, Scouting, Species
from nursery.services.papers.consignments import Consignment


@dataclass(frozen=True)
class Host:
    """A species on which organisms live that its mover must know of; its batches with the last look at each."""

    species: Species
    flags: tuple[HostFlag, ...]
    batches: tuple[tuple[Batch, dt.date | None], ...]

    @property
    def told(self) -> str:
        """What to do, as a sentence; never that plants have or lack an organism."""
        concerns = ", ".join(dict.fromkeys(flag.concern for flag in self.flags))
        return _(
            "%(species)s is watched for %(concerns)s. Ask the plant-health service what holds today, and look at"
            " the plants before they leave.",
            species=self.species.scientific_name,
            concerns=concerns,
        )

    @property
    def basis(self) -> str:
        """How it is known."""
        return "; ".join(dict.fromkeys(f"{flag.rule} ({BASIS_LABELS[flag.basis]})" for flag in self.flags))


def hosts_of(session: Session, consignment: Consignment) -> Sequence[Host]:
    """Species of a load that have a flag, in two queries at most."""
    flagged = [
        (part, tuple(consignment.law.host_flags(part.names, consignment.country, consignment.day)))
        for part in consignment.parts
        if part.lines or part.is_cuttings
    ]
    flagged = [(part, flags) for part, flags in flagged if flags]
    seen = _last_seen(session, [line.batch_id for part, _flags in flagged for line in part.lines])
    found: dict[int, Host] = {}
    for part, flags in flagged:
        batches = {line.batch_id: line.batch for line in part.lines}
        before = found.get(part.species.id)
        looked = tuple((batch, seen.get(batch.id)) for batch in batches.values())
        found[part.species.id] = Host(part.species, flags, (before.batches if before else ()) + looked)
    return list(found.values())


def _last_seen(session: Session, batch_ids: list[int]) -> dict[int, dt.date]:
    rows = session.execute(
        select(Scouting.batch_id, func.max(Scouting.seen_on))
        .where(Scouting.batch_id.in_(set(batch_ids)), Scouting.archived_at.is_(None))
        .group_by(Scouting.batch_id)
    )
    return {batch_id: day for batch_id, day in rows if batch_id is not None}
