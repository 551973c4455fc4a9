"""What a count teaches of the species' rates, where successes and trials are clear; nothing where they are not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session, aliased

from nursery.models import Batch, Count, Evidence, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import STAGES, Cause, Stage
from nursery.planning.words import Method
from nursery.services.evidence import record_evidence, withdraw_evidence

_MIXING_IN = (
    PlantMovementKind.SPLIT, PlantMovementKind.MERGED, PlantMovementKind.DISPATCHED, PlantMovementKind.RETURNED,
)  # fmt: skip
_RATES = {Stage.GROWING: "establishment", Stage.HARDENING: "hardening", Stage.READY: "cull"}


def teach(
    session: Session, actor: str, batch: Batch, count: Count, earlier: Sequence[Count], today: dt.date
) -> None:
    """Write down what the count says of the rate that lies before its stage.

    Emergence needs the viability at sowing, and the best of several counts of it stands; later rates need a full
    count at the stage before and a batch that nothing joined or left in between.
    """
    found = _emergence(batch, count) if count.stage is Stage.EMERGED else _later(session, batch, count, earlier)
    if found is None:
        return
    rate, successes, trials = found
    if not 0 <= successes <= trials or trials < 1:
        return
    if not _replaces(session, actor, batch, count, earlier, rate, successes / trials):
        return
    record_evidence(
        session,
        actor,
        species=batch.species.key,
        values={
            "part": "cuttings" if batch.method is Method.CUTTINGS else "seed",
            "rate": rate,
            "successes": successes,
            "trials": trials,
            "happened_on": count.counted_on,
            "source": source_of(batch, count),
            "lot_id": batch.lot_id,
        },
        today=today,
    )


def forget(session: Session, actor: str, batch: Batch, count: Count, reason: str) -> None:
    """Withdraw what the count taught."""
    for evidence in _taught(session, batch, [count]):
        withdraw_evidence(session, actor, species=batch.species.key, evidence_id=evidence.id, reason=reason[:500])


def teach_again(
    session: Session, actor: str, batch: Batch, count: Count, counts: Sequence[Count], today: dt.date
) -> None:
    """What was written before ``count`` has changed: it and the standing ``counts`` after it, which come with the
    earlier ones, teach what they show now."""
    for at, one in enumerate(counts):
        taught = _taught(session, batch, [one])
        is_before = (one.counted_on, one.id) < (count.counted_on, count.id)
        if is_before or not taught or one.stage is Stage.EMERGED:
            continue
        if [(row.rate, row.successes, row.trials) for row in taught] != [_later(session, batch, one, counts[:at])]:
            forget(session, actor, batch, one, source_of(batch, one))
            teach(session, actor, batch, one, counts[:at], today)


def source_of(batch: Batch, count: Count) -> str:
    """How evidence names the count it was read from; the same in every language."""
    return f"{batch.code} #{count.id}"


def _taught(session: Session, batch: Batch, counts: Sequence[Count]) -> Sequence[Evidence]:
    return session.scalars(
        select(Evidence).where(
            Evidence.species_id == batch.species_id,
            Evidence.source.in_([source_of(batch, one) for one in counts]),
            Evidence.withdrawn_at.is_(None),
        )
    ).all()


def _replaces(
    session: Session, actor: str, batch: Batch, count: Count, earlier: Sequence[Count], rate: str, share: float
) -> bool:
    """One batch is one trial of a rate: a later count of the same stage stands in for the one before.

    Of emergence the best count stands, as seedlings that died afterwards had come up all the same.
    """
    same = [one for one in earlier if one.stage is count.stage]
    for before in _taught(session, batch, same):
        if before.rate != rate:
            continue
        if rate == "emergence" and before.successes / before.trials >= share:
            return False
        withdraw_evidence(
            session, actor, species=batch.species.key, evidence_id=before.id, reason=source_of(batch, count)
        )
    return True


def _emergence(batch: Batch, count: Count) -> tuple[str, int, int] | None:
    # Of cuttings nobody sees rooting and shooting apart.
    if batch.method is Method.CUTTINGS or not batch.seeds:
        return None
    worth = 1.0 if batch.method is Method.PRESPROUTED else batch.viability
    if worth is None:
        return None
    looked_at = len(count.sample) / count.trays if count.sample is not None else 1.0
    seen = sum(count.sample) if count.sample is not None else count.plants
    return "emergence", seen, round(batch.seeds * worth * looked_at)


def _later(session: Session, batch: Batch, count: Count, earlier: Sequence[Count]) -> tuple[str, int, int] | None:
    before = STAGES[STAGES.index(count.stage) - 1]
    base = next((one for one in reversed(earlier) if one.stage is before), None)
    if base is None or base.sample is not None:
        return None
    moved = _movements_between(session, batch, base, count)
    if any(kind in _MIXING_IN for kind, _cause in moved):
        return None
    thinned = -moved.get((PlantMovementKind.LOST, Cause.THINNED), 0)
    start = base.plants - thinned + moved.get((PlantMovementKind.COUNTED, None), 0)
    rate = _RATES[count.stage]
    if rate == "cull":
        return _cull(count, start, graded=-moved.get((PlantMovementKind.LOST, Cause.GRADED_OUT), 0))
    if rate == "establishment" and start > batch.trays * (batch.cells_per_tray or 0):
        return None  # cells with several seedlings cannot be told from empty ones
    if count.sample is not None:
        return rate, sum(count.sample), round(start * len(count.sample) / count.trays)
    return rate, count.plants, start


def _cull(count: Count, start: int, *, graded: int) -> tuple[str, int, int] | None:
    """What was graded out where that was written down, else what is missing since the count before."""
    if count.sample is not None:
        return None
    return ("cull", graded, count.plants + graded) if graded else ("cull", start - count.plants, start)


def _movements_between(
    session: Session, batch: Batch, base: Count, count: Count
) -> dict[tuple[PlantMovementKind, Cause | None], int]:
    """Sums by kind and cause of what stands, after one count and before another."""
    is_after = or_(
        PlantMovement.happened_on > base.counted_on,
        and_(PlantMovement.happened_on == base.counted_on, PlantMovement.at > base.at),
    )
    is_before = or_(
        PlantMovement.happened_on < count.counted_on,
        and_(PlantMovement.happened_on == count.counted_on, PlantMovement.at < count.at),
    )
    undo = aliased(PlantMovement)
    rows = session.execute(
        select(PlantMovement.kind, PlantMovement.cause, func.sum(PlantMovement.change))
        .where(
            PlantMovement.batch_id == batch.id,
            PlantMovement.kind != PlantMovementKind.REVERSAL,
            is_after,
            is_before,
            PlantMovement.act.not_in([one.act for one in (base, count) if one.act]),
            ~select(undo.id).where(undo.reverses_id == PlantMovement.id).exists(),
        )
        .group_by(PlantMovement.kind, PlantMovement.cause)
    )
    return {(kind, cause): int(total) for kind, cause, total in rows}
