"""The list of batches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Select, case, func, literal, select
from sqlalchemy.orm import Session

from nursery.catalog.vocabulary import METHODS
from nursery.i18n import lazy as _l
from nursery.models import Batch, Bench, Container, Lot, Nursery, Placement, Site, Species, Target
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.listing import Column, Filter, Listing, choice_options, options_of, species_options, whole

#: What is left of a batch, as the list asks for it.
LEFT_LABELS = {
    "here": _l("With plants alive, or still to come up"),
    "alive": _l("With plants alive"),
    "sown": _l("Nothing has come up yet"),
    "gone": _l("Nothing left"),
}
_LABELS = {Method(key): label for key, label in METHODS.items()}


def _joins(query: Select[Any]) -> Select[Any]:
    return (
        query.join(Species, Batch.species_id == Species.id)
        .outerjoin(Lot, Batch.lot_id == Lot.id)
        .outerjoin(Container, Batch.container_id == Container.id)
        .outerjoin(Nursery, Batch.nursery_id == Nursery.id)
        .outerjoin(Target, Batch.target_id == Target.id)
        .outerjoin(Site, Target.site_id == Site.id)
    )


def _bench_names() -> Any:
    here = (
        select(Bench.name.label("name"))
        .join(Placement, Placement.bench_id == Bench.id)
        .where(Placement.batch_id == Batch.id, Placement.until_on.is_(None))
        .correlate(Batch)
        .distinct()
        .order_by(Bench.name)
        .subquery()
    )
    return select(func.aggregate_strings(here.c.name, ", ")).scalar_subquery()


def _sites(session: Session) -> Sequence[tuple[str, str]]:
    used = select(Target.site_id).join(Batch, Batch.target_id == Target.id)
    rows = session.execute(select(Site.id, Site.name).where(Site.id.in_(used)).order_by(Site.name))
    return [(str(site_id), name) for site_id, name in rows]


def _benches(session: Session) -> Sequence[tuple[str, str]]:
    rows = session.execute(
        select(Bench.id, Nursery.name, Bench.name)
        .join(Nursery, Bench.nursery_id == Nursery.id)
        .where(Bench.archived_at.is_(None))
        .order_by(Nursery.name, Bench.name)
    )
    return [(str(bench_id), f"{nursery} · {name}") for bench_id, nursery, name in rows]


def _lots(session: Session) -> Sequence[tuple[str, str]]:
    used = select(Batch.lot_id).where(Batch.archived_at.is_(None))
    codes = session.scalars(select(Lot.code).where(Lot.id.in_(used)).order_by(Lot.code).limit(500))
    return [(code, code) for code in codes]


def _on_bench(text: str) -> ColumnElement[int]:
    """1 for a batch that has trays on the bench now."""
    there = select(Placement.batch_id).where(Placement.bench_id == whole(text), Placement.until_on.is_(None))
    return case((Batch.id.in_(there), 1), else_=0)


def _left(text: str) -> ColumnElement[int]:
    found = {
        "alive": Batch.alive > 0,
        "sown": (Batch.alive == 0) & (Batch.stage == Stage.SOWN) & (Batch.trays > 0),
    }
    found["here"] = found["alive"] | found["sown"]
    found["gone"] = ~found["here"]
    if text not in found:
        raise ValueError(text)
    return case((found[text], 1), else_=0)


LISTING = Listing(
    model=Batch,
    order="-sown_on",
    joins=_joins,
    columns=(
        Column("code", _l("Code"), Batch.code, "code", link=("batches.detail", Batch.id)),
        Column("species", _l("Species"), Species.scientific_name, "taxon"),
        Column("lot", _l("Lot"), Lot.code, "code", link=("lots.detail", Lot.id), nullable=True),
        Column("stage", _l("Stage"), Batch.stage, "choice", choices=STAGE_LABELS),
        Column("alive", _l("Plants alive"), Batch.alive, "number"),
        Column("trays", _l("Trays"), Batch.trays, "number"),
        Column("bench", _l("Benches"), _bench_names(), nullable=True, sortable=False),
        Column("sown_on", _l("Sown on"), Batch.sown_on, "date"),
        Column("ready_on", _l("Due"), Batch.ready_on, "date"),
        Column("site", _l("For the site"), Site.name, link=("sites.detail", Site.id), nullable=True),
        Column("season", _l("Season"), Target.season, "season", nullable=True, on_screen=False),
        Column("nursery", _l("Nursery"), Nursery.name, nullable=True, on_screen=False),
        Column("container", _l("Container"), Container.name, nullable=True, on_screen=False),
        Column("cells_per_tray", _l("Cells per tray"), Batch.cells_per_tray, "number", on_screen=False),
        Column("method", _l("Method"), Batch.method, "choice", choices=_LABELS, on_screen=False),
        Column("seeds", _l("Seeds sown"), Batch.seeds, "number", on_screen=False),
        Column("viability", _l("Viability at sowing"), Batch.viability, "percent", digits=1, on_screen=False),
        Column("stage_on", _l("At this stage since"), Batch.stage_on, "date", on_screen=False),
        Column("notes", _l("Notes"), Batch.notes, on_screen=False),
    ),
    search=(Batch.code, Lot.code, Species.scientific_name, Site.name),
    search_species=True,
    filters=(
        Filter("left", _l("Plants"), literal(1), choice_options(LEFT_LABELS), parse=_left),
        Filter("species", _l("Species"), Species.key, species_options(Batch)),
        Filter("stage", _l("Stage"), Batch.stage, choice_options(STAGE_LABELS), parse=Stage),
        Filter("site", _l("For the site"), Site.id, _sites, parse=whole),
        Filter("bench", _l("Bench"), literal(1), _benches, parse=_on_bench),
        Filter("lot", _l("Lot"), Lot.code, _lots),
        Filter("container", _l("Container"), Container.name, options_of(Container.name)),
    ),
)
