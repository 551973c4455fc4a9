"""What a count in a plot teaches of a species' survival: one trial of year 1 or year 3, nothing of other years."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Survey, SurveyCount
from nursery.services.evidence import MOST_REASON, MOST_SOURCE, record_evidence, withdraw_evidence
from nursery.services.surveys.planted import Planted

#: The catalogue has survival rates of these years.
RATES = {1: "field_survival_1", 3: "field_survival_3"}


def teach(session: Session, actor: str, survey: Survey, planted: Mapping[int, Planted], today: dt.date) -> None:
    """Write down what each count says; ``planted`` by species tells of what material the plants were raised.

    Where plants from seed and from cuttings stand together nothing is learned: their rates are kept apart.
    """
    rate = RATES.get(survey.year)
    if rate is None:
        return
    for count in survey.counts:
        part = part_of(count, planted.get(count.species_id))
        if part is None:
            continue
        evidence = record_evidence(
            session, actor, species=count.species.key, today=today,
            values={
                "part": part, "rate": rate, "successes": count.alive, "trials": count.planted,
                "happened_on": survey.surveyed_on, "source": source_of(survey), "lot_id": count.lot_id,
            },
        )  # fmt: skip
        count.evidence_id = evidence.id


def forget(session: Session, actor: str, survey: Survey, reason: str) -> None:
    """Withdraw what its counts taught."""
    for count in survey.counts:
        if count.evidence_id is not None:
            withdraw_evidence(
                session, actor, species=count.species.key, evidence_id=count.evidence_id,
                reason=reason[:MOST_REASON],
            )  # fmt: skip


def source_of(survey: Survey) -> str:
    """How evidence names the survey it was read from; the same in every language."""
    return f"{survey.plot.site.code} · {survey.plot.name} #{survey.id}"[:MOST_SOURCE]


def part_of(count: SurveyCount, planted: Planted | None) -> str | None:
    """``seed`` or ``cuttings``; None where both stand there. Unknown plants count for the species' usual way."""
    materials = set(planted.lots.values()) if planted is not None else set()
    if len(materials) == 1:
        return materials.pop()
    if materials:
        return None
    entry = load_catalog().species.get(count.species.key)
    return entry.default_protocol.part if entry is not None else None
