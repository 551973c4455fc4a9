"""Batches of a dossier: what was sown, counted, lost and sent, as tables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import gettext as _
from nursery.models import Batch, Count, PlantMovement, QualityCheck, Site
from nursery.models.batches import PlantMovementKind
from nursery.services.batches.words import CAUSE_LABELS, KIND_LABELS, STAGE_LABELS
from nursery.services.dossier.places import Gathered
from nursery.services.dossier.scope import Scope
from nursery.services.dossier.words import coded
from nursery.tabular.packages import Column, Link, Table

TO_BATCH = Link(("batch",), "batches", ("batch",))


@dataclass(frozen=True)
class Grown:
    """The tables, and the codes of batches by id."""

    tables: Sequence[Table]
    codes: dict[int, str]


def growing_tables(session: Session, gathered: Gathered, scope: Scope) -> Grown:
    """In five queries."""
    batches = session.scalars(
        select(Batch)
        .where(Batch.id.in_(scope.batch_ids))
        .options(joinedload(Batch.species), joinedload(Batch.nursery), joinedload(Batch.container))
        .order_by(Batch.sown_on, Batch.code)
    ).all()
    movements = session.scalars(
        select(PlantMovement)
        .where(PlantMovement.batch_id.in_(scope.batch_ids))
        .order_by(PlantMovement.batch_id, PlantMovement.happened_on, PlantMovement.id)
    ).all()
    codes = {one.id: one.code for one in batches}
    others = {one.other_batch_id for one in movements if one.other_batch_id} - codes.keys()
    codes_of_all = codes | {
        row[0]: row[1] for row in session.execute(select(Batch.id, Batch.code).where(Batch.id.in_(others)))
    }
    to_sites = {one.site_id for one in movements if one.site_id}
    sites = {row[0]: row[1] for row in session.execute(select(Site.id, Site.code).where(Site.id.in_(to_sites)))}
    return Grown(
        [
            _batches_table(batches, movements),
            _lots_table(gathered, scope, codes),
            _counts_table(session, scope, codes),
            _losses_table(movements, codes),
            _movements_table(movements, codes_of_all, sites, scope),
            _quality_table(session, scope, codes),
        ],
        codes,
    )


def _batches_table(batches: Sequence[Batch], movements: Sequence[PlantMovement]) -> Table:
    sums = _sums(movements)
    columns = [
        Column("batch", _("Batch"), required=True), Column("species", _("Species"), required=True),
        Column("nursery", _("Nursery")), Column("container", _("Container")),
        Column("sown_on", _("Sown on"), "date"),
        Column("stage", _("Stage"), words=coded(STAGE_LABELS)), Column("seeds", _("Seeds or cuttings"), "integer"),
        Column("viability", _("Viability at sowing"), "fraction", digits=1),
        Column("trays", _("Trays"), "integer"),
        Column("came_in", _("Plants came in"), "integer", _("By counts, splits and mergers.")),
        Column("lost", _("Lost"), "integer"),
        Column("dispatched", _("Dispatched"), "integer", _("Less those that came back.")),
        Column("alive", _("Alive now"), "integer"),
    ]  # fmt: skip
    rows = [
        (
            one.code, one.species.scientific_name, one.nursery.name if one.nursery else "",
            one.container.name if one.container else "", one.sown_on, one.stage.value, one.seeds, one.viability,
            one.trays, sums[one.id]["in"], sums[one.id]["lost"], sums[one.id]["sent"], one.alive,
        )
        for one in batches
    ]  # fmt: skip
    links = [Link(("species",), "species", ("species",))]
    return Table(
        "batches",
        _("Batches"),
        columns,
        rows,
        ("batch",),
        links,
        _("What came in is what was lost, dispatched and is alive."),
    )


def _sums(movements: Sequence[PlantMovement]) -> defaultdict[int, dict[str, int]]:
    """Plants of each batch that came in, were lost and were sent; a reversal counts with what it undoes."""
    kinds = {one.id: one.kind for one in movements}
    sums: defaultdict[int, dict[str, int]] = defaultdict(lambda: {"in": 0, "lost": 0, "sent": 0})
    for one in movements:
        kind = kinds.get(one.reverses_id, one.kind) if one.reverses_id else one.kind
        if kind is PlantMovementKind.LOST:
            sums[one.batch_id]["lost"] -= one.change
        elif kind in {PlantMovementKind.DISPATCHED, PlantMovementKind.RETURNED}:
            sums[one.batch_id]["sent"] -= one.change
        else:
            sums[one.batch_id]["in"] += one.change
    return sums


def _lots_table(gathered: Gathered, scope: Scope, codes: dict[int, str]) -> Table:
    lots = {lot.id: lot.code for lot in gathered.lots}
    columns = [
        Column("batch", _("Batch"), required=True), Column("lot", _("Lot"), required=True),
        Column("share", _("Share of the batch"), "fraction", digits=1),
    ]  # fmt: skip
    rows = [
        (codes[batch_id], lots[lot_id], min(share, 1.0))
        for batch_id, found in sorted(scope.batch_lots.items())
        for lot_id, share in sorted(found.items())
    ]
    links = [TO_BATCH, Link(("lot",), "lots", ("lot",))]
    return Table("batch_lots", _("Lots in the batches"), columns, rows, ("batch", "lot"), links)


def _counts_table(session: Session, scope: Scope, codes: dict[int, str]) -> Table:
    columns = [
        Column("count_id", _("Our number"), "integer", required=True), Column("batch", _("Batch"), required=True),
        Column("counted_on", _("Counted on"), "date"), Column("stage", _("Stage"), words=coded(STAGE_LABELS)),
        Column("plants", _("Plants"), "integer"),
        Column(
            "low", _("Low"), "integer",
            _("Of the 95 % interval; equal to the count where every tray was counted."),
        ),
        Column("high", _("High"), "integer"), Column("trays", _("Trays"), "integer"),
        Column("trays_counted", _("Trays counted"), "integer"), Column("person", _("Person")),
        Column("withdrawn_on", _("Withdrawn on"), "date"), Column("withdrawn_reason", _("Why withdrawn")),
    ]  # fmt: skip
    found = session.scalars(
        select(Count)
        .where(Count.batch_id.in_(scope.batch_ids))
        .order_by(Count.batch_id, Count.counted_on, Count.id)
    )
    rows = [
        (
            one.id, codes[one.batch_id], one.counted_on, one.stage.value, one.plants, one.low, one.high, one.trays,
            one.trays if one.sample is None else len(one.sample), scope.asked.name(one.person),
            one.withdrawn_at.date() if one.withdrawn_at else None, one.withdrawn_reason,
        )
        for one in found
    ]  # fmt: skip
    return Table("counts", _("Counts"), columns, rows, ("count_id",), [TO_BATCH])


def _losses_table(movements: Sequence[PlantMovement], codes: dict[int, str]) -> Table:
    causes = {one.id: one.cause for one in movements}
    sums: defaultdict[tuple[int, str], int] = defaultdict(int)
    for one in movements:
        cause = causes.get(one.reverses_id) if one.reverses_id else one.cause
        if cause is not None:
            sums[one.batch_id, cause.value] -= one.change
    columns = [
        Column("batch", _("Batch"), required=True),
        Column("cause", _("Cause"), words=coded(CAUSE_LABELS), required=True),
        Column("plants", _("Plants lost"), "integer"),
    ]  # fmt: skip
    rows = [(codes[batch], cause, plants) for (batch, cause), plants in sorted(sums.items()) if plants]
    return Table("losses", _("Losses by cause"), columns, rows, ("batch", "cause"), [TO_BATCH])


def _movements_table(
    movements: Sequence[PlantMovement], codes: dict[int, str], sites: dict[int, str], scope: Scope
) -> Table:
    columns = [
        Column("movement_id", _("Our number"), "integer", required=True),
        Column("batch", _("Batch"), required=True),
        Column("happened_on", _("Day"), "date"), Column("kind", _("What"), words=coded(KIND_LABELS)),
        Column("change", _("Change"), "integer", _("Plants; below zero for what left the batch.")),
        Column("cause", _("Cause"), words=coded(CAUSE_LABELS)), Column("other_batch", _("Other batch")),
        Column("to_site", _("To site")), Column("reason", _("Reason")), Column("person", _("Person")),
    ]  # fmt: skip
    rows = [
        (
            one.id, codes[one.batch_id], one.happened_on, one.kind.value, one.change,
            one.cause.value if one.cause else None, codes[one.other_batch_id] if one.other_batch_id else "",
            sites[one.site_id] if one.site_id else "", one.reason, scope.asked.name(one.person),
        )
        for one in movements
    ]  # fmt: skip
    return Table("plant_movements", _("Ledger of plants"), columns, rows, ("movement_id",), [TO_BATCH])


def _quality_table(session: Session, scope: Scope, codes: dict[int, str]) -> Table:
    columns = [
        Column("check_id", _("Our number"), "integer", required=True), Column("batch", _("Batch"), required=True),
        Column("checked_on", _("Checked on"), "date"), Column("looked_at", _("Plants looked at"), "integer"),
        Column("fair", _("Fair and marketable"), "integer"), Column("person", _("Person")),
        Column("withdrawn_on", _("Withdrawn on"), "date"), Column("withdrawn_reason", _("Why withdrawn")),
    ]  # fmt: skip
    found = session.scalars(
        select(QualityCheck)
        .where(QualityCheck.batch_id.in_(scope.batch_ids))
        .order_by(QualityCheck.batch_id, QualityCheck.checked_on, QualityCheck.id)
    )
    rows = [
        (
            one.id, codes[one.batch_id], one.checked_on, one.looked_at, one.fair, scope.asked.name(one.person),
            one.withdrawn_at.date() if one.withdrawn_at else None, one.withdrawn_reason,
        )
        for one in found
    ]  # fmt: skip
    return Table("quality_checks", _("Looks at quality"), columns, rows, ("check_id",), [TO_BATCH])
