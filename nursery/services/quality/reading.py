"""Looks at the quality of batches."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import QualityCheck


@dataclass(frozen=True, slots=True)
class Look:
    """A look with what follows from its numbers."""

    row: QualityCheck

    @property
    def share(self) -> float:
        """Fair plants among those looked at, 0–1."""
        return self.row.fair / self.row.looked_at

    @property
    def height_cm(self) -> float | None:
        """Mean of the heights measured."""
        return _mean(self.row.heights_cm)

    @property
    def collar_mm(self) -> float | None:
        """Mean of the collars measured."""
        return _mean(self.row.collars_mm)


def looks_of(session: Session, batch_id: int) -> Sequence[Look]:
    """Every look at a batch, the newest first, withdrawn ones too."""
    rows = session.scalars(
        select(QualityCheck)
        .where(QualityCheck.batch_id == batch_id)
        .order_by(QualityCheck.checked_on.desc(), QualityCheck.id.desc())
    )
    return [Look(row) for row in rows]


def latest_looks(session: Session, batch_ids: Collection[int]) -> Mapping[int, Look]:
    """The newest look at each batch that was not withdrawn, in one query."""
    rows = session.scalars(
        select(QualityCheck)
        .where(QualityCheck.batch_id.in_(batch_ids), QualityCheck.withdrawn_at.is_(None))
        .order_by(QualityCheck.checked_on, QualityCheck.id)
    )
    return {row.batch_id: Look(row) for row in rows}


def _mean(values: Sequence[float] | None) -> float | None:
    return sum(values) / len(values) if values else None
