"""What targets ask for of the nursery, in ready plants, and what of it is sent out or still to be sown."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, load_only

from nursery.models import Batch, Container, Nursery, PlanLine, Site, Species, Target
from nursery.services.forecast.gathering import Known
from nursery.services.forecast.promises import pending_of
from nursery.services.planning.plans import current_plan
from nursery.services.ready.rows import Want
from nursery.services.seasons import window_days
from nursery.services.targets import wanted_of


@dataclass(frozen=True, slots=True)
class SeasonWant:
    """A target with its season; nothing is set aside for it yet."""

    season: int
    want: Want


def read_wants(session: Session, known: Known) -> list[SeasonWant]:
    """Every open target; four queries."""
    lines = _lines(session)
    sown: defaultdict[int, list[Any]] = defaultdict(list)
    sent: defaultdict[int, int] = defaultdict(int)
    for batch in known.batches:
        if batch.target_id is not None:
            sown[batch.target_id].append(batch)
        for _day, target_id, plants in known.dispatched.get(batch.id, ()):
            if target_id is not None:
                sent[target_id] += plants
    grown_in = _grown_in(session)
    return [
        SeasonWant(
            row.Target.season,
            _want(row, lines.get(row.Target.id), sown[row.Target.id], sent[row.Target.id], grown_in),
        )
        for row in session.execute(_targets())
    ]


def _grown_in(session: Session) -> dict[int, str]:
    """The container of a target's batches, where all have the same."""
    rows = session.execute(
        select(Batch.target_id, Container.name).join(Batch.container).where(Batch.archived_at.is_(None)).distinct()
    )
    names: defaultdict[int, set[str]] = defaultdict(set)
    for target_id, name in rows:
        if target_id is not None:
            names[target_id].add(name)
    return {target_id: found.pop() for target_id, found in names.items() if len(found) == 1}


def _targets() -> Any:
    return (
        select(
            Target, Site.name.label("site_name"), Site.area_ha, Site.latitude, Site.window_opens,
            Site.window_closes,
            Species.scientific_name, Container.name.label("container_name"), Nursery.name.label("nursery_name"),
        )
        .join(Target.site).join(Target.species).outerjoin(Target.container)
        .outerjoin(Nursery, Nursery.id == Container.nursery_id)
        .where(Target.archived_at.is_(None))
        .order_by(Target.season, Site.name, Species.scientific_name, Target.id)
    )  # fmt: skip


def _lines(session: Session) -> dict[int, PlanLine]:
    plan = current_plan(session)
    if plan is None:
        return {}
    # Phases, findings and basis are most of a line and say nothing here.
    read = load_only(
        PlanLine.target_id, PlanLine.status, PlanLine.ready_plants, PlanLine.seeds, PlanLine.seeds_missing,
        PlanLine.growing, PlanLine.container_name, PlanLine.nursery_name, PlanLine.plan_id,
    )  # fmt: skip
    query = select(PlanLine).where(PlanLine.plan_id == plan.id).options(read)
    return {line.target_id: line for line in session.scalars(query)}


def _want(row: Any, line: PlanLine | None, batches: list[Any], sent: int, grown_in: Mapping[int, str]) -> Want:
    target = row.Target
    opens, closes = window_days(target.season, row.window_opens, row.window_closes, southern=row.latitude < 0)
    asked = None if line is not None else wanted_of(vars(target), row.area_ha)
    wanted = line.ready_plants if line is not None else asked.plants if asked is not None else 0
    out = max(sent, 0)
    return Want(
        target_id=target.id,
        species_id=target.species_id,
        species_name=row.scientific_name,
        site_id=target.site_id,
        site_name=row.site_name,
        nursery_name=(line.nursery_name if line else row.nursery_name) or "",
        # A season that is over stands in no plan any more; what was grown tells its container.
        container_name=(line.container_name if line else row.container_name) or grown_in.get(target.id, ""),
        wanted=wanted,
        sent=out,
        covered=0,
        # Plants sent out beyond what was promised leave that much less to sow.
        to_sow=min(pending_of(line, batches), max(wanted - out, 0)),
        opens_on=opens,
        closes_on=closes,
    )  # fmt: skip
