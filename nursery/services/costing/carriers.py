"""What bears costs: batches, by the sites their plants go to, and what the plan has still to sow."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session, aliased, joinedload, selectinload

from nursery.catalog import SpeciesEntry
from nursery.models import Batch, Plan, PlanLine, PlantMovement, ReturnedPlants, Site, Target
from nursery.services.catalogue import effective_entries
from nursery.services.costing.line_work import plants_to_come, share_to_come, sowable
from nursery.services.seasons import season_of
from nursery.services.work_dates import can_be_grown

#: Site and target.
Where = tuple[int, int | None]
#: Acts by which the ledger writes plants back that were missing when a load was taken over.
MISSING_ACTS = select(ReturnedPlants.act).where(ReturnedPlants.is_missing, ReturnedPlants.act != "")
#: A line of which less than this is left to sow is sown.
LITTLE = 0.02
#: Survival in the field where the species' protocols tell none (common practice, no source).
UNKNOWN_SURVIVAL = 0.8


@dataclass(frozen=True, slots=True)
class Plants:
    """Plants grown until they are ready, planted, and expected to live a year after.

    So far these are plants alive or gone out, gone out, and expected to live. Plants missing when a load was taken
    over were grown and went out, and none of them lives: the season's report counts them alike.
    """

    grown: float = 0.0
    planted: float = 0.0
    surviving: float = 0.0


@dataclass(frozen=True, slots=True)
class Carrier:
    """A batch, the part of one that went to a site, or what is still to be sown of a line of the plan."""

    species_id: int | None
    species: str
    batch_id: int | None = None
    batch: str = ""
    line_id: int | None = None
    #: Shares of the line's and of the batch's own costs.
    line_share: float = 0.0
    batch_share: float = 0.0
    site_id: int | None = None
    site: str = ""
    funder: str = ""
    season: int | None = None
    from_on: dt.date | None = None
    until_on: dt.date | None = None
    #: By how many plants it bears costs that several share.
    weight: float = 0.0
    planned: Plants = Plants()
    actual: Plants = Plants()


@dataclass(frozen=True, slots=True)
class Growing:
    """Carriers, and the lines and batches that they come from."""

    carriers: Sequence[Carrier]
    lines: Sequence[PlanLine]
    batches: Sequence[Batch]


def read_carriers(session: Session, plan: Plan | None) -> Growing:
    """All batches and the lines of the plan, in a fixed number of queries."""
    batches = session.scalars(
        select(Batch)
        .where(Batch.archived_at.is_(None))
        .options(
            joinedload(Batch.species), joinedload(Batch.container),
            joinedload(Batch.target).joinedload(Target.site),
        )
        .order_by(Batch.id)
    ).all()  # fmt: skip
    of_batches = PlanLine.id.in_({batch.line_id for batch in batches if batch.line_id})
    of_plan = and_(PlanLine.plan_id == (plan.id if plan is not None else 0), can_be_grown())
    lines = session.scalars(
        select(PlanLine)
        .where(or_(of_batches, of_plan))
        .options(selectinload(PlanLine.draws))
        .order_by(PlanLine.id)
    ).all()
    targets = {
        target.id: target
        for target in session.scalars(select(Target).options(joinedload(Target.site)).order_by(Target.id))
    }
    entries = effective_entries(
        session, {batch.species_id for batch in batches} | {line.species_id for line in lines}
    )
    sent, last = _sent(session), _last_days(session)
    missing = _missing(session)
    sites = {site.id: site for site in session.scalars(select(Site))}
    by_id = {line.id: line for line in lines}
    sown: defaultdict[int, float] = defaultdict(float)
    found: list[Carrier] = []
    for batch in batches:
        line = by_id.get(batch.line_id or 0)
        asked = sowable(line).seeds if line is not None else 0
        share = min(batch.seeds / asked, 1 - sown[line.id]) if line is not None and asked else 0.0
        if line is not None:
            sown[line.id] += share
        survival = _survival(entries.get(batch.species_id), batch.protocol)
        found += _of_batch(
            batch,
            line,
            share,
            sent.get(batch.id, {}),
            missing.get(batch.id, {}),
            last.get(batch.id),
            targets,
            sites,
            survival,
        )
    for line in lines:
        left = 1 - sown[line.id]
        if plan is not None and line.plan_id == plan.id and left > LITTLE and line.seeds:
            survival = _survival(entries.get(line.species_id), line.protocol)
            found.append(_of_line(line, left, targets.get(line.target_id), survival))
    return Growing(found, lines, batches)


def _of_batch(
    batch: Batch, line: PlanLine | None, share: float, sent: Mapping[Where, int],
    missing: Mapping[Where, int], last: dt.date | None, targets: Mapping[int, Target], sites: Mapping[int, Site],
    survival: float,
) -> Iterable[Carrier]:  # fmt: skip
    """A carrier for each site (and target) plants went to, and one for those still here."""
    gone = {key: plants for key, plants in sent.items() if plants > 0}
    grown = batch.alive + sum(gone.values())
    planned = planned_plants(line, share, survival) if line is not None else Plants()
    cells = batch.seeds / (batch.seeds_per_cell or 1)
    parts: list[tuple[Target | None, Site | None, int, Plants]] = [
        (
            targets.get(target_id or 0), sites.get(site_id), plants,
            Plants(plants, plants, (plants - missing.get((site_id, target_id), 0)) * survival),
        )
        for (site_id, target_id), plants in gone.items()
    ]  # fmt: skip
    if batch.alive or not parts:
        own = batch.target or (targets.get(line.target_id) if line is not None else None)
        parts.append((own, own.site if own is not None else None, batch.alive, Plants(batch.alive)))
    for sent_to, site, plants, actual in parts:
        part = plants / grown if grown else 1 / len(parts)
        target = sent_to or batch.target
        season = target.season if target is not None else line.season if line is not None else None
        yield Carrier(
            species_id=batch.species_id, species=batch.species.scientific_name, batch_id=batch.id,
            batch=batch.code,
            line_id=line.id if line is not None else None, line_share=share * part, batch_share=part,
            site_id=site.id if site is not None else None, site=site.name if site is not None else "",
            funder=target.funder if target is not None else "",
            season=season if season is not None else season_of(batch.ready_on or batch.sown_on),
            from_on=batch.sown_on, until_on=None if batch.alive else last,
            weight=part * (planned.grown or cells or grown),
            planned=Plants(planned.grown * part, planned.planted * part, planned.surviving * part),
            actual=actual,
        )  # fmt: skip


def _of_line(line: PlanLine, left: float, target: Target | None, survival: float) -> Carrier:
    planned = planned_plants(line, left, survival)
    return Carrier(
        species_id=line.species_id, species=line.species_name, line_id=line.id, line_share=left,
        site_id=line.site_id, site=line.site_name, funder=target.funder if target is not None else "",
        season=line.season, from_on=line.pretreat_on, until_on=line.plant_on,
        weight=planned.grown or line.ready_plants * left, planned=planned,
    )  # fmt: skip


def planned_plants(line: PlanLine, share: float, survival: float) -> Plants:
    """Plants that a share of what a line sows should give; no more are planted than the line asks for."""
    kept = line.plants_to_plant / line.ready_plants if line.ready_plants else 0.0
    planted = min(line.expected * kept, line.plants_to_plant) * share_to_come(line)
    return Plants(plants_to_come(line) * share, planted * share, planted * survival * share)


def survival_of(entries: Mapping[int, SpeciesEntry], line: PlanLine) -> float:
    """Survival in the field of what a line raises, one year on."""
    return _survival(entries.get(line.species_id), line.protocol)


def _survival(entry: SpeciesEntry | None, protocol: str) -> float:
    known = list(entry.protocols) if entry is not None else []
    chosen = next((one for one in known if one.key == protocol), known[0] if known else None)
    return float(chosen.rates["field_survival_1"].mean) if chosen is not None else UNKNOWN_SURVIVAL


def _sent(session: Session) -> dict[int, dict[Where, int]]:
    """Plants by batch, site and target that went out and did not come back; those missing on the way went out."""
    undone = aliased(PlantMovement)
    site = func.coalesce(PlantMovement.site_id, undone.site_id)
    target = func.coalesce(PlantMovement.target_id, undone.target_id)
    rows = session.execute(
        select(PlantMovement.batch_id, site, target, -func.sum(PlantMovement.change))
        .outerjoin(undone, PlantMovement.reverses_id == undone.id)
        .where(site.is_not(None), PlantMovement.act.not_in(MISSING_ACTS))
        .group_by(PlantMovement.batch_id, site, target)
    )
    return _by_batch(rows)


def _missing(session: Session) -> dict[int, dict[Where, int]]:
    """Plants by batch, site and target that went out and never arrived."""
    rows = session.execute(
        select(
            PlantMovement.batch_id, PlantMovement.site_id, PlantMovement.target_id, func.sum(PlantMovement.change)
        )
        .where(PlantMovement.act.in_(MISSING_ACTS))
        .group_by(PlantMovement.batch_id, PlantMovement.site_id, PlantMovement.target_id)
    )
    return _by_batch(rows)


def _by_batch(rows: Iterable[Any]) -> dict[int, dict[Where, int]]:
    found: defaultdict[int, dict[Where, int]] = defaultdict(dict)
    for batch_id, site_id, target_id, plants in rows:
        found[batch_id][site_id, target_id] = int(plants)
    return found


def _last_days(session: Session) -> dict[int, dt.date]:
    """The last day on which plants of each batch moved."""
    query = select(PlantMovement.batch_id, func.max(PlantMovement.happened_on)).group_by(PlantMovement.batch_id)
    return dict(session.execute(query).all())
