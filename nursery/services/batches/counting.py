"""Counting a batch: the ledger follows what was seen, and what it teaches of rates is kept."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, Count
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause, Stage
from nursery.services import auditing
from nursery.services.batches.estimating import Estimate, estimate
from nursery.services.batches.moving import alive_now, alter, check_act, move, new_act, whole_act
from nursery.services.batches.placing import fit_places
from nursery.services.batches.settling import since, standing_counts
from nursery.services.batches.staging import began_on, is_later
from nursery.services.batches.teaching import teach
from nursery.services.batches.words import plants_text
from nursery.services.work.following import note_counted

#: More plants than so many times the seeds sown are a slip of the keys; our own bound, no source. Seeds reckoned
#: from a weight may be fewer than were sown, and some hold more than one embryo.
MOST_PER_SEED = 2


def record_count(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    stage: Stage,
    counted_on: dt.date,
    today: dt.date,
    plants: int | None = None,
    sample: Sequence[int] | None = None,
    trays: int | None = None,
    grades: Mapping[str, int] | None = None,
    notes: str = "",
    cause: Cause = Cause.UNKNOWN,
) -> Count:
    """Write a count down: exactly one of ``plants`` (all) and ``sample`` (plants in each tray looked at).

    More plants than the ledger knew come in as counted, fewer are lost of ``cause``. Plants that left after the
    day of the count are not counted twice.

    Raises
    ------
    Invalid
        By field: stage, counted_on, plants, sample, trays, grades.
    """
    check_act(batch, happened_on=counted_on, today=today, field="counted_on")
    if stage is Stage.SOWN:
        raise Invalid({"stage": _("Seed that lies in the ground is not counted. Choose what has come up.")})
    earlier = standing_counts(session, batch)
    _refuse_older(batch, earlier, stage, counted_on)
    found = estimate(plants=plants, sample=sample, trays=batch.trays if trays is None else trays)
    _refuse_too_many(batch, found)
    kept = _check_grades(grades, found)
    with whole_act(session, [batch]):
        then = alive_now(session, batch) - since(session, batch, counted_on)
        act = new_act()
        change = found.plants - then
        if change:
            move(
                session, actor, batch=batch, change=change, happened_on=counted_on, act=act,
                kind=PlantMovementKind.COUNTED if change > 0 else PlantMovementKind.LOST,
                cause=cause if change < 0 else None, reason=notes,
            )  # fmt: skip
        count = Count(
            batch_id=batch.id,
            stage=stage,
            counted_on=counted_on,
            plants=found.plants,
            low=found.low,
            high=found.high,
            trays=found.trays,
            sample=list(found.sample) if found.sample is not None else None,
            before=then if earlier or then else batch.seeds,
            grades=kept,
            person=actor,
            act=act if change else "",
            notes=notes.strip(),
        )
        session.add(count)
        auditing.record(session, actor, action="counted", row=batch, details={"plants": [then, found.plants]})
        values: dict[str, object] = {"trays": found.trays}
        if is_later(stage, batch.stage):
            began = began_on(session, batch, stage, counted_on, batch.stage, batch.stage_on)
            values |= {"stage": stage, "stage_on": began}
        alter(session, actor, batch, values, act=act)
        fit_places(session, actor, batch, counted_on)
        teach(session, actor, batch, count, earlier, today)
        session.expire(batch, ["counts"])
        note_counted(session, actor, count=count, today=today)
    return count


def _refuse_older(batch: Batch, earlier: Sequence[Count], stage: Stage, counted_on: dt.date) -> None:
    if not earlier:
        return
    last = earlier[-1]
    if counted_on < last.counted_on:
        raise Invalid(
            {
                "counted_on": _(
                    "%(batch)s was counted on %(day)s; a count from before it would undo what is known. Correct"
                    " the day, or withdraw the later count first.",
                    batch=batch.code,
                    day=format_date(last.counted_on),
                )
            }
        )
    if is_later(last.stage, stage):
        raise Invalid(
            {"stage": _("%(batch)s was counted at a later stage already. Choose that one or a later.",
                        batch=batch.code)}
        )  # fmt: skip


def too_many(batch: Batch, plants: int) -> str | None:
    """Why so many plants cannot stand in a batch; None where they can, or where its seeds are not known.

    What is alive counts beside the seeds: after a split in unlike parts, the seeds left say too little.
    """
    if not batch.seeds or plants <= MOST_PER_SEED * max(batch.seeds, batch.alive):
        return None
    return _(
        "%(plants)s cannot have come of %(seeds)s seeds. Check the number and the batch.",
        plants=plants_text(plants),
        seeds=batch.seeds,
    )


def _refuse_too_many(batch: Batch, found: Estimate) -> None:
    if refusal := too_many(batch, found.plants):
        raise Invalid({"sample" if found.sample is not None else "plants": refusal})


def _check_grades(grades: Mapping[str, int] | None, found: Estimate) -> dict[str, int] | None:
    kept = {name.strip(): number for name, number in (grades or {}).items() if name.strip() and number}
    if any(number < 0 or len(name) > 40 for name, number in kept.items()):
        raise Invalid({"grades": _("A grade has a short name and 0 plants or more.")})
    if sum(kept.values()) > found.plants:
        raise Invalid(
            {
                "grades": _(
                    "The grades come to %(graded)s, more than were counted. Check them.",
                    graded=plants_text(sum(kept.values())),
                )
            }
        )
    return kept or None
