"""Loads with receipts and returns, and papers, as tables."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import gettext as _
from nursery.models import Dispatch, DispatchLine, Paper, ReturnedPlants
from nursery.models.recipients import RecipientKind
from nursery.services.dossier.growing import TO_BATCH
from nursery.services.dossier.places import Gathered
from nursery.services.dossier.scope import Scope
from nursery.services.dossier.seed import TO_LOT
from nursery.services.dossier.words import LOAD_LABELS, PAPER_LABELS, RETURN_LABELS, coded
from nursery.tabular.packages import Column, Link, Table

_TO_LOAD = Link(("load",), "loads", ("load",))


def leaving_tables(
    session: Session, gathered: Gathered, scope: Scope, batches: dict[int, str]
) -> tuple[list[Table], dict[str, dict[str, int]]]:
    """The tables, and the ids of loads and papers by what they are called; in four queries."""
    loads = session.scalars(
        select(Dispatch)
        .where(Dispatch.id.in_(scope.load_ids))
        .options(joinedload(Dispatch.recipient), joinedload(Dispatch.site))
        .order_by(Dispatch.planned_on, Dispatch.id)
    ).all()
    lines = session.scalars(
        select(DispatchLine)
        .where(DispatchLine.dispatch_id.in_(scope.load_ids), DispatchLine.batch_id.in_(scope.batch_ids))
        .options(joinedload(DispatchLine.substitutes))
        .order_by(DispatchLine.dispatch_id, DispatchLine.position, DispatchLine.id)
    ).all()
    codes = {one.id: one.code for one in loads}
    papers = session.scalars(
        select(Paper)
        .where(or_(Paper.dispatch_id.in_(scope.load_ids), Paper.lot_id.in_(scope.lot_ids)))
        .options(joinedload(Paper.recipient))
        .order_by(Paper.issued_on, Paper.id)
    ).all()
    tables = [
        _loads_table(loads, scope),
        _lines_table(lines, codes, batches),
        _returns_table(session, [one.id for one in lines], scope),
        _papers_table(papers, gathered, scope, codes),
    ]
    return tables, {
        "loads": {one.code: one.id for one in loads},
        "papers": {one.number: one.id for one in papers},
    }


def _loads_table(loads: Sequence[Dispatch], scope: Scope) -> Table:
    columns = [
        Column("load", _("Load"), required=True), Column("site", _("Site code"), required=True),
        Column("status", _("State"), words=coded(LOAD_LABELS)), Column("planned_on", _("Planned for"), "date"),
        Column("sent_on", _("Sent on"), "date"), Column("vehicle", _("Vehicle")), Column("driver", _("Driver")),
        Column("recipient", _("Who takes plants over")),
        Column("handed_over", _("Handed over"), "boolean", _("To others than our own crews.")),
        Column("received_on", _("Received on"), "date"),
        Column("received_time", _("At"), about=_("By the clock of the place, HH:MM.")),
        Column("received_by", _("Received by")), Column("reason", _("Reason")),
    ]  # fmt: skip
    rows = [
        (
            one.code, one.site.code, one.status.value, one.planned_on, one.sent_on, one.vehicle,
            scope.asked.name(one.driver), one.recipient.name if one.recipient else "",
            one.recipient is not None and one.recipient.kind is not RecipientKind.OWN, one.received_on,
            one.received_time, scope.asked.name(one.received_by), one.reason,
        )
        for one in loads
    ]  # fmt: skip
    return Table("loads", _("Loads"), columns, rows, ("load",), [Link(("site",), "sites", ("site",))])


def _lines_table(lines: Sequence[DispatchLine], loads: dict[int, str], batches: dict[int, str]) -> Table:
    columns = [
        Column("line_id", _("Our number"), "integer", required=True), Column("load", _("Load"), required=True),
        Column("batch", _("Batch"), required=True), Column("plants", _("Asked for"), "integer"),
        Column("sent", _("Sent"), "integer"), Column("received", _("Received"), "integer"),
        Column("trays", _("Trays"), "integer", _("In which they left; empty where nobody wrote that down.")),
        Column("substitutes", _("Stands in for"), about=_("Code of the batch it replaces.")),
        Column("reason", _("Reason")),
    ]  # fmt: skip
    rows = [
        (
            one.id, loads[one.dispatch_id], batches[one.batch_id], one.plants, one.sent, one.received, one.trays,
            one.substitutes.code if one.substitutes else "", one.reason,
        )
        for one in lines
    ]  # fmt: skip
    return Table("load_lines", _("Plants in the loads"), columns, rows, ("line_id",), [_TO_LOAD, TO_BATCH])


def _returns_table(session: Session, line_ids: Sequence[int], scope: Scope) -> Table:
    columns = [
        Column("return_id", _("Our number"), "integer", required=True),
        Column("line_id", _("Line of the load"), "integer", required=True),
        Column("plants", _("Plants"), "integer"), Column("trays", _("Trays"), "integer"),
        Column("returned_on", _("Came back on"), "date"), Column("condition", _("Condition")),
        Column("is_missing", _("Missing"), "boolean", _("They never arrived.")),
        Column(
            "decision", _("What became of them"), words=coded(RETURN_LABELS),
            about=_("Empty while nobody decided."),
        ),
        Column("decided_on", _("Decided on"), "date"), Column("decided_by", _("Decided by")),
        Column("reason", _("Reason")),
    ]  # fmt: skip
    found = session.scalars(
        select(ReturnedPlants).where(ReturnedPlants.line_id.in_(line_ids)).order_by(ReturnedPlants.id)
    )
    rows = [
        (
            one.id, one.line_id, one.plants, one.trays, one.returned_on, one.condition, one.is_missing,
            one.decision.value if one.decision else None, one.decided_on, scope.asked.name(one.decided_by),
            one.decided_reason,
        )
        for one in found
    ]  # fmt: skip
    links = [Link(("line_id",), "load_lines", ("line_id",))]
    return Table("returns", _("Plants that came back"), columns, rows, ("return_id",), links)


def _papers_table(papers: Sequence[Paper], gathered: Gathered, scope: Scope, loads: dict[int, str]) -> Table:
    lots = {lot.id: lot.code for lot in gathered.lots}
    columns = [
        Column("number", _("Number"), required=True), Column("kind", _("Paper"), words=coded(PAPER_LABELS)),
        Column("load", _("Load")), Column("lot", _("Lot")), Column("recipient", _("Recipient")),
        Column("regime", _("Rules it follows")), Column("regime_from", _("Rules from"), "date"),
        Column("issued_on", _("Drawn up on"), "date"), Column("keep_until", _("To be kept until"), "date"),
        Column("signed_by", _("Signed by"), about=_("Empty while it is a draft.")),
        Column("signed_on", _("Signed on"), "date"),
        Column("voided_on", _("Void since"), "date"), Column("void_reason", _("Why void")),
    ]  # fmt: skip
    rows = [
        (
            one.number, one.kind.value, loads.get(one.dispatch_id or 0), lots.get(one.lot_id or 0),
            one.recipient.name if one.recipient else "", one.regime, one.regime_from, one.issued_on,
            one.keep_until, scope.asked.name(one.signed_by), one.signed_on,
            one.voided_at.date() if one.voided_at else None, one.void_reason,
        )
        for one in papers
    ]  # fmt: skip
    return Table("papers", _("Papers"), columns, rows, ("number",), [_TO_LOAD, TO_LOT])
