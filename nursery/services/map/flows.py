"""The lines of allocation: which population's seed is promised to which site, and how many plants that is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Draw, Lot, PlanLine, Population, Site, Species
from nursery.models.movements import Movement, MovementKind
from nursery.services.ledger.shares import lot_origins
from nursery.services.map.query import MapQuery


@dataclass(frozen=True, slots=True)
class Flow:
    """Plants of one line of the plan that one population's seed is to give, through one lot."""

    line_id: int
    population_id: int
    site_id: int
    lot_id: int
    lot: str
    population: str
    site: str
    species: str
    season: int
    plants: float
    distance_m: float


def read_flows(session: Session, plan_id: int, query: MapQuery) -> list[Flow]:
    """Flows of a plan, the largest first; a mixed lot's plants are divided among its populations by their shares.

    The plants that a line has seed for are divided among its draws by their cells, or by their seeds where nothing
    grows in cells.
    """
    wanted = (
        select(
            Draw.line_id, Draw.lot_id, Draw.lot_code, Draw.cells, Draw.seeds, Draw.distance_m, PlanLine.site_id,
            Site.code.label("site"), PlanLine.species_name, PlanLine.season, PlanLine.plants_to_plant,
            PlanLine.shortfall, Lot.population_id, Population.code.label("population"),
        )
        .join(PlanLine, Draw.line_id == PlanLine.id)
        .join(Site, PlanLine.site_id == Site.id)
        .join(Species, PlanLine.species_id == Species.id)
        .join(Lot, Draw.lot_id == Lot.id)
        .join(Population, Lot.population_id == Population.id)
        .where(PlanLine.plan_id == plan_id)
        .order_by(Draw.id)
    )  # fmt: skip
    if query.species:
        wanted = wanted.where(Species.key == query.species)
    if query.season is not None:
        wanted = wanted.where(PlanLine.season == query.season)
    if query.site:
        wanted = wanted.where(Site.code == query.site)
    rows = session.execute(wanted).all()
    cells: dict[int, int] = defaultdict(int)
    seeds: dict[int, int] = defaultdict(int)
    for row in rows:
        cells[row.line_id] += row.cells
        seeds[row.line_id] += row.seeds
    origins = _mixed(session, {row.lot_id for row in rows})
    flows = []
    for row in rows:
        if query.lot and row.lot_code != query.lot:
            continue
        share = row.cells / cells[row.line_id] if cells[row.line_id] else row.seeds / seeds[row.line_id]
        plants = max(row.plants_to_plant - row.shortfall, 0) * share
        for population_id, population, part in origins.get(row.lot_id, [(row.population_id, row.population, 1.0)]):
            flows.append(
                Flow(
                    row.line_id, population_id, row.site_id, row.lot_id, row.lot_code, population, row.site,
                    row.species_name, row.season, plants * part, row.distance_m,
                )
            )  # fmt: skip
    return sorted(flows, key=lambda flow: (-flow.plants, flow.site, flow.population, flow.lot))


def read_flow_choices(session: Session, plan_id: int) -> dict[str, Sequence[tuple[str, str]]]:
    """What the lines of a plan can be narrowed to: species, seasons, sites and lots that have any."""
    own = PlanLine.plan_id == plan_id
    species = (
        select(Species.key, Species.scientific_name)
        .join(PlanLine, PlanLine.species_id == Species.id)
        .where(own)
        .distinct()
        .order_by(Species.scientific_name)
    )
    joined = select(Site.code, Site.name).join(PlanLine, PlanLine.site_id == Site.id)
    sites = joined.where(own).distinct().order_by(Site.code)
    lots = select(Draw.lot_code).join(PlanLine, Draw.line_id == PlanLine.id).where(own)
    seasons = select(PlanLine.season).where(own).distinct().order_by(PlanLine.season)
    return {
        "species": [
            (key, name) for key, name in session.execute(species.distinct().order_by(Species.scientific_name))
        ],
        "season": [(str(year), str(year)) for year in session.scalars(seasons)],
        "site": [
            (code, f"{code} · {name}") for code, name in session.execute(sites.distinct().order_by(Site.code))
        ],
        "lot": [(code, code) for code in session.scalars(lots.distinct().order_by(Draw.lot_code).limit(2000))],
    }


def _mixed(session: Session, lot_ids: set[int]) -> dict[int, list[tuple[int, str, float]]]:
    """Populations, with their shares, of the lots that were mixed or split; the others have their own."""
    joined = (
        select(Movement.lot_id)
        .where(Movement.kind.in_((MovementKind.SPLIT, MovementKind.MIXED)), Movement.change > 0)
        .distinct()
    )
    made = lot_ids & set(session.scalars(joined))
    if not made:
        return {}
    lots = session.scalars(select(Lot).where(Lot.id.in_(made))).all()
    return {
        lot_id: [(one.lot.population_id, one.lot.population.code, one.share) for one in origins]
        for lot_id, origins in lot_origins(session, lots).items()
    }
