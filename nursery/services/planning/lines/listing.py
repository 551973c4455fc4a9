"""The lines of one plan as a list: filtered, sorted and paged by the list machinery."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

from sqlalchemy import Integer, Select, func, select
from sqlalchemy.orm import Session

from nursery.catalog.vocabulary import METHODS
from nursery.i18n import lazy as _l
from nursery.models import Draw, PlanLine, Species, Target
from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.services.listing import Column, Filter, Listing, choice_options, whole
from nursery.services.planning.words import STATUS
from nursery.services.seasons import season_name

STATUS_LABELS = {status: label for status, (label, _tone) in STATUS.items()}
_METHOD_LABELS = {Method(key): label for key, label in METHODS.items()}
#: Codes of the lots that a line draws on, so that a code finds its lines.
_LOT_CODES = (
    select(func.aggregate_strings(Draw.lot_code, " ")).where(Draw.line_id == PlanLine.id).scalar_subquery()
)
#: Of the target as it is now, those that make up for losses; nothing where none do.
_REPLACEMENTS = func.nullif(
    select(Target.replacements).where(Target.id == PlanLine.target_id).scalar_subquery(), 0, type_=Integer
)

#: Every field of the plan contract; columns that are not on screen stand in the exported table.
COLUMNS = (
    Column("species", _l("Species"), PlanLine.species_name, "taxon", link=("plans.line", PlanLine.id)),
    Column("site", _l("Planting site"), PlanLine.site_name),
    Column("status", _l("Status"), PlanLine.status, "choice", choices=STATUS_LABELS),
    Column("wanted", _l("Wanted"), PlanLine.wanted, "number"),
    Column("replacements", _l("Replacements among them"), _REPLACEMENTS, "number", nullable=True, on_screen=False),
    Column("trays", _l("Trays"), PlanLine.trays, "number"),
    Column("seeds", _l("Seeds or cuttings"), PlanLine.seeds, "number"),
    Column("grams", _l("Seed"), PlanLine.grams, "number", digits=1, unit="g"),
    Column("sow_on", _l("Sow"), PlanLine.sow_on, "date"),
    Column("plant_on", _l("Plant"), PlanLine.plant_on, "date"),
    Column("expected", _l("Ready plants expected"), PlanLine.expected, "number"),
    Column("probability", _l("Chance"), PlanLine.probability, "percent"),
    Column("shortfall", _l("Short"), PlanLine.shortfall, "number"),
    Column("target_id", _l("Target number"), PlanLine.target_id, "number", on_screen=False),
    Column("plants_to_plant", _l("Plants to plant"), PlanLine.plants_to_plant, "number", on_screen=False),
    Column("ready_plants", _l("Ready plants needed"), PlanLine.ready_plants, "number", on_screen=False),
    Column("method", _l("Method"), PlanLine.method, "choice", choices=_METHOD_LABELS, on_screen=False),
    Column("protocol", _l("Protocol"), PlanLine.protocol, on_screen=False),
    Column("container", _l("Container"), PlanLine.container_name, on_screen=False),
    Column("nursery", _l("Nursery"), PlanLine.nursery_name, on_screen=False),
    Column("seeds_per_cell", _l("Seeds per cell"), PlanLine.seeds_per_cell, "number", on_screen=False),
    Column("cells", _l("Cells needed"), PlanLine.cells, "number", on_screen=False),
    Column("cells_sown", _l("Cells sown"), PlanLine.cells_sown, "number", on_screen=False),
    Column("seeds_missing", _l("Seeds to collect"), PlanLine.seeds_missing, "number", on_screen=False),
    Column("collect_by", _l("Collect by"), PlanLine.collect_by, "date", on_screen=False),
    Column("season", _l("Season"), PlanLine.season, "season", on_screen=False),
    Column("pretreat_on", _l("Begin"), PlanLine.pretreat_on, "date", on_screen=False),
    Column("ready_on", _l("Ready"), PlanLine.ready_on, "date", on_screen=False),
    Column("p10", _l("Ready plants, 10 % case"), PlanLine.p10, "number", on_screen=False),
    Column("p90", _l("Ready plants, 90 % case"), PlanLine.p90, "number", on_screen=False),
    Column("species_id", _l("Species"), PlanLine.species_id, "number", on_screen=False),
    Column("problems", _l("Findings"), PlanLine.problems, sortable=False, on_screen=False),
)


@lru_cache(maxsize=32)
def lines_listing(plan_id: int) -> Listing:
    """The list of a plan's lines; narrow it with ``where=(PlanLine.plan_id == plan_id,)``."""
    return Listing(
        model=PlanLine,
        order="pretreat_on",
        columns=COLUMNS,
        joins=_with_species,
        search=(PlanLine.species_name, PlanLine.site_name, _LOT_CODES),
        search_species=True,
        filters=(
            Filter("status", _l("Status"), PlanLine.status, choice_options(STATUS_LABELS), parse=LineStatus),
            Filter("season", _l("Season"), PlanLine.season, _seasons(plan_id), parse=whole),
            Filter("site", _l("Planting site"), PlanLine.site_id, _sites(plan_id), parse=whole),
            Filter("species", _l("Species"), Species.key, _species(plan_id)),
        ),
    )


def _with_species(query: Select[tuple[object, ...]]) -> Select[tuple[object, ...]]:
    return query.join(Species, PlanLine.species_id == Species.id)


Options = Callable[[Session], Sequence[tuple[str, str]]]


def _seasons(plan_id: int) -> Options:
    query = select(PlanLine.season).where(PlanLine.plan_id == plan_id).distinct().order_by(PlanLine.season)
    return lambda session: [(str(season), season_name(season)) for season in session.scalars(query)]


def _sites(plan_id: int) -> Options:
    query = (
        select(PlanLine.site_id, PlanLine.site_name)
        .where(PlanLine.plan_id == plan_id)
        .distinct()
        .order_by(PlanLine.site_name)
    )
    return lambda session: [(str(site_id), name) for site_id, name in session.execute(query)]


def _species(plan_id: int) -> Options:
    used = select(PlanLine.species_id).where(PlanLine.plan_id == plan_id)
    query = (
        select(Species.key, Species.scientific_name).where(Species.id.in_(used)).order_by(Species.scientific_name)
    )
    return lambda session: [(key, name) for key, name in session.execute(query)]
