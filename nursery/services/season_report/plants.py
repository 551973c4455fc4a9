"""Plants by species and site: asked for, grown, sent, taken over, planted. All sums come from the same cells."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from nursery.models import (
    Batch,
    Dispatch,
    DispatchLine,
    Lot,
    PlanLine,
    Planting,
    PlantMovement,
    Site,
    Target,
)
from nursery.models.batches import PlantMovementKind
from nursery.models.dispatches import DispatchStatus
from nursery.models.targets import TargetBasis
from nursery.services.costing.carriers import MISSING_ACTS, Carrier
from nursery.services.season_report.scope import Scope
from nursery.services.seasons import season_of
from nursery.services.targets.meaning import wanted_of

#: Species and site; None where plants have no site yet.
Key = tuple[int, int | None]


@dataclass
class Cell:
    """Whole plants of one species for one site, or a sum of such."""

    wanted: int = 0
    grown: int = 0
    sent: int = 0
    missing: int = 0
    received: int = 0
    planted: int = 0
    replaced: int = 0
    #: Of what was planted, no more than was wanted of this species at this site: the rest makes up for nothing.
    filled: int = 0
    #: First plantings and replacements that came from the season's batches.
    own_planted: int = 0
    own_replaced: int = 0

    def add(self, other: Cell) -> None:
        """Take another cell's plants in."""
        for name in ADDED:
            setattr(self, name, getattr(self, name) + getattr(other, name))

    def values(self) -> list[int]:
        """The numbers in the order of `NAMES`."""
        return [getattr(self, name) for name in NAMES]


ADDED = tuple(one.name for one in fields(Cell))
#: What the tables of plants show of it.
NAMES = tuple(name for name in ADDED if name not in {"filled", "own_planted", "own_replaced"})


@dataclass(frozen=True)
class Sums:
    """The cells and what they come to, by species, by site and in all."""

    cells: Mapping[Key, Cell]
    by_species: Mapping[int, Cell]
    by_site: Mapping[int | None, Cell]
    total: Cell


def together(cells: Mapping[Key, Cell]) -> Sums:
    """Sums of cells: by species and by site they come to the same total."""
    by_species: defaultdict[int, Cell] = defaultdict(Cell)
    by_site: defaultdict[int | None, Cell] = defaultdict(Cell)
    total = Cell()
    for (species_id, site_id), cell in cells.items():
        for one in (by_species[species_id], by_site[site_id], total):
            one.add(cell)
    return Sums(cells, by_species, by_site, total)


def read_plants(session: Session, scope: Scope, carriers: Sequence[Carrier]) -> Sums:
    """The season's cells, in four queries; what was grown and sent is what the costs are laid on."""
    cells: defaultdict[Key, Cell] = defaultdict(Cell)
    for key, plants in _wanted(session, scope):
        cells[key].wanted += plants
    for one in carriers:
        if one.season == scope.season and one.species_id is not None and one.batch_id is not None:
            cell = cells[one.species_id, one.site_id]
            cell.grown += round(one.actual.grown)
            cell.sent += round(one.actual.planted)
    for key, plants in _missing(session, scope):
        cells[key].missing += plants
    for key, plants in _received(session, scope):
        cells[key].received += plants
    for species_id, site_id, batch_id, is_replacement, plants in _planted(session, scope):
        cell, own = cells[species_id, site_id], plants if batch_id in scope.batches else 0
        if is_replacement:
            cell.replaced, cell.own_replaced = cell.replaced + plants, cell.own_replaced + own
        else:
            cell.planted, cell.own_planted = cell.planted + plants, cell.own_planted + own
    for cell in cells.values():
        cell.filled = min(cell.planted, cell.wanted)
    return together({key: cell for key, cell in cells.items() if any(cell.values())})


def _wanted(session: Session, scope: Scope) -> Iterable[tuple[Key, int]]:
    """Plants to plant; survivors wanted are those that the last plan for the target reckoned."""
    newest = select(func.max(PlanLine.id)).group_by(PlanLine.target_id)
    rows = session.execute(
        select(
            Target.species_id, Target.site_id, Target.basis, Target.plants, Target.density_per_ha, Target.share,
            Target.survival_year, Site.area_ha, PlanLine.plants_to_plant,
        )
        .join(Site, Target.site_id == Site.id)
        .outerjoin(PlanLine, (PlanLine.target_id == Target.id) & PlanLine.id.in_(newest))
        .where(Target.season == scope.season, Target.archived_at.is_(None))
    )  # fmt: skip
    for row in rows:
        asked = {"basis": row.basis, "plants": row.plants, "density_per_ha": row.density_per_ha,
                 "share": row.share, "survival_year": row.survival_year}  # fmt: skip
        found = wanted_of(asked, row.area_ha)
        plants = found.plants if found is not None else 0
        if row.basis is TargetBasis.SURVIVORS and row.plants_to_plant:
            plants = row.plants_to_plant
        yield (row.species_id, row.site_id), plants


def _received(session: Session, scope: Scope) -> Iterable[tuple[Key, int]]:
    rows = session.execute(
        select(
            Batch.species_id, Dispatch.site_id, Target.season, Dispatch.sent_on, func.sum(DispatchLine.received)
        )
        .join(DispatchLine.dispatch)
        .join(DispatchLine.batch)
        .outerjoin(DispatchLine.target)
        .where(
            Dispatch.archived_at.is_(None), Dispatch.status == DispatchStatus.RECEIVED,
            DispatchLine.received.is_not(None),
        )
        .group_by(Batch.species_id, Dispatch.site_id, Target.season, Dispatch.sent_on)
    )  # fmt: skip
    for species_id, site_id, season, sent_on, plants in rows:
        if (season if season is not None else season_of(sent_on)) == scope.season:
            yield (species_id, site_id), int(plants or 0)


def _missing(session: Session, scope: Scope) -> Iterable[tuple[Key, int]]:
    """Plants that never came to their site: grown and sent with the others."""
    own = aliased(Target)
    season = func.coalesce(Target.season, own.season, PlanLine.season)
    rows = session.execute(
        select(
            Batch.species_id, PlantMovement.site_id, season, Batch.ready_on, Batch.sown_on,
            func.sum(PlantMovement.change),
        )
        .join(Batch, PlantMovement.batch_id == Batch.id)
        .outerjoin(Target, PlantMovement.target_id == Target.id)
        .outerjoin(own, Batch.target_id == own.id)
        .outerjoin(PlanLine, Batch.line_id == PlanLine.id)
        .where(
            PlantMovement.kind == PlantMovementKind.RETURNED, Batch.archived_at.is_(None),
            PlantMovement.act.in_(MISSING_ACTS),
        )
        .group_by(Batch.species_id, PlantMovement.site_id, season, Batch.ready_on, Batch.sown_on)
    )  # fmt: skip
    for species_id, site_id, known, ready_on, sown_on, plants in rows:
        if (known if known is not None else season_of(ready_on or sown_on)) == scope.season:
            yield (species_id, site_id), int(plants)


def _planted(session: Session, scope: Scope) -> Iterable[tuple[int, int, int | None, bool, int]]:
    rows = session.execute(
        select(
            Lot.species_id, Planting.site_id, Planting.batch_id, Planting.is_replacement,
            func.sum(Planting.plants),
        )
        .join(Planting.lot)
        .where(Planting.archived_at.is_(None), Planting.planted_on.between(scope.first, scope.last))
        .group_by(Lot.species_id, Planting.site_id, Planting.batch_id, Planting.is_replacement)
    )  # fmt: skip
    return [(species_id, site_id, batch, bool(again), int(n)) for species_id, site_id, batch, again, n in rows]
