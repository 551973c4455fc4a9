"""What the rules of origin say of the lots of a dossier, and what people decided, as tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import gettext
from nursery.i18n import gettext as _
from nursery.models import Decision, Lot, Site
from nursery.models.decisions import DecisionKind
from nursery.planning.origin.rule_table import LEVELS
from nursery.planning.origin.strategies import SOURCES
from nursery.planning.origin.words import Rule
from nursery.services.dossier.places import Gathered
from nursery.services.dossier.scope import Scope
from nursery.services.dossier.words import coded
from nursery.services.origin.gathering import read_lots, read_sites
from nursery.services.origin.verdicts import judge_all
from nursery.services.origin.words import (
    DECISION_LABELS,
    RULE_LABELS,
    SOURCE_LABELS,
    VERDICT_LABELS,
    found_text,
    limit_text,
    note_text,
)
from nursery.tabular.packages import Column, Link, Table, Value

_PAIR = (Link(("lot",), "lots", ("lot",)), Link(("site",), "sites", ("site",)))


@dataclass(frozen=True)
class Judged:
    """Verdicts with their reasons, and decisions."""

    verdicts: Table
    reasons: Table
    decisions: Table


def judge_tables(session: Session, gathered: Gathered, scope: Scope) -> Judged:
    """All pairs at once."""
    decisions = session.scalars(
        select(Decision)
        .where(Decision.lot_id.in_(scope.lot_ids), Decision.site_id.in_(scope.site_ids))
        .options(joinedload(Decision.target))
        .order_by(Decision.id)
    ).all()
    standing = {(row.lot_id, row.site_id, row.kind) for row in decisions if row.withdrawn_at is None}
    verdicts, reasons = _judge(session, gathered, scope, standing)
    return Judged(_verdicts_table(verdicts), _reasons_table(reasons), _decisions_table(gathered, scope, decisions))


def _judge(
    session: Session, gathered: Gathered, scope: Scope, standing: set[tuple[int, int, DecisionKind]]
) -> tuple[list[tuple[Value, ...]], list[tuple[Value, ...]]]:
    if not scope.pairs:
        return [], []
    lots = read_lots(session, Lot.id.in_({lot_id for lot_id, _site in scope.pairs}))
    places = read_sites(session, scope.asked.day, Site.id.in_({site_id for _lot, site_id in scope.pairs}))
    lot_at = {lot_id: row for row, lot_id in enumerate(lots["lot_id"].tolist())}
    site_at = {site_id: row for row, site_id in enumerate(places.table["site_id"].tolist())}
    lot = np.array([lot_at[lot_id] for lot_id, _site in scope.pairs], np.int64)
    site = np.array([site_at[site_id] for _lot, site_id in scope.pairs], np.int64)
    judgement = judge_all(lots, places, lot, site)
    hidden = _hidden(gathered, scope)
    codes, names = lots["lot_code"].tolist(), places.table["site_code"].tolist()
    told = judgement.reasons_of(np.arange(len(lot)), passes=True)
    verdicts: list[tuple[Value, ...]] = []
    reasons: list[tuple[Value, ...]] = []
    for at, (pair, row, column) in enumerate(zip(scope.pairs, lot.tolist(), site.tolist(), strict=True)):
        followed = places.followed(column)
        decided = next((kind for kind in _WEIGHT if (*pair, kind) in standing), None)
        key = (codes[row], names[column])
        verdicts.append(
            (
                *key, LEVELS[int(judgement.verdict[at])].value, SOURCES[int(judgement.source[at])].value,
                _kilometres(float(judgement.distance_m[at]), coarse=pair[0] in hidden),
                followed.name or _("Rules that come with the product"), followed.valid_from,
                decided.value if decided else None,
            )
        )  # fmt: skip
        reasons += [
            (
                *key,
                one["rule"],
                one["verdict"],
                _("kept to ourselves: a sensitive place")
                if pair[0] in hidden and one["rule"] in _TELLING
                else found_text(one),
                limit_text(one),
                note_text(one),
                gettext(one["basis"]) if one["basis"] else "",
            )
            for one in told[at]
        ]
    return verdicts, reasons


def _hidden(gathered: Gathered, scope: Scope) -> set[int]:
    """Lots whose stands are sensitive and told less exactly: distances to several sites would find the place."""
    return {lot.id for lot in gathered.lots if lot.population.is_sensitive and not scope.asked.exact}


def _kilometres(metres: float, *, coarse: bool) -> float:
    return round(metres / 10_000) * 10.0 if coarse else metres / 1000


#: Rules whose findings tell where a stand is.
_TELLING = {Rule.DISTANCE.value, Rule.ELEVATION.value}
#: The weightiest first.
_WEIGHT = (DecisionKind.FORBID, DecisionKind.OVERRIDE, DecisionKind.PIN)


def _verdicts_table(rows: list[tuple[Value, ...]]) -> Table:
    columns = [
        Column("lot", _("Lot"), required=True), Column("site", _("Site code"), required=True),
        Column("verdict", _("Verdict"), words=coded(VERDICT_LABELS)),
        Column("source", _("Nearness"), words=coded(SOURCE_LABELS)),
        Column(
            "distance_km", _("Distance (km)"), "number", _("From stand to site; in tens for sensitive stands."),
            digits=1,
        ),
        Column("rule_set", _("Rules")),
        Column("rules_from", _("Version from"), "date", _("Empty for the rules that come with the product.")),
        Column("decision", _("Decision"), words=coded(DECISION_LABELS)),
    ]  # fmt: skip
    about = _("By the rules in force on the day of the dossier.")
    return Table("verdicts", _("Verdicts on origin"), columns, rows, ("lot", "site"), _PAIR, about)


def _reasons_table(rows: list[tuple[Value, ...]]) -> Table:
    columns = [
        Column("lot", _("Lot"), required=True), Column("site", _("Site code"), required=True),
        Column("rule", _("Rule"), words=coded(RULE_LABELS), required=True),
        Column("verdict", _("Verdict"), words=coded(VERDICT_LABELS)),
        Column("found", _("Found")), Column("limit", _("Asked")), Column("note", _("Note")),
        Column("basis", _("Basis")),
    ]  # fmt: skip
    links = [Link(("lot", "site"), "verdicts", ("lot", "site"))]
    return Table("verdict_reasons", _("Reasons of the verdicts"), columns, rows, ("lot", "site", "rule"), links)


def _decisions_table(gathered: Gathered, scope: Scope, decisions: Sequence[Decision]) -> Table:
    lots = {lot.id: lot.code for lot in gathered.lots}
    sites = {site.id: site.code for site in gathered.sites}
    columns = [
        Column("decision_id", _("Our number"), "integer", required=True),
        Column("kind", _("Decision"), words=coded(DECISION_LABELS)), Column("lot", _("Lot"), required=True),
        Column("site", _("Site code"), required=True), Column("reason", _("Reason")),
        Column("person", _("Person")),
        Column("decided_on", _("Day"), "date"),
        Column("season", _("Season"), "integer", _("Of a pin: first year of the planting winter.")),
        Column("plants", _("Plants"), "integer"), Column("withdrawn_on", _("Withdrawn on"), "date"),
        Column("withdrawn_by", _("Withdrawn by")), Column("withdrawal", _("Why withdrawn")),
    ]  # fmt: skip
    rows = [
        (
            one.id, one.kind.value, lots[one.lot_id], sites[one.site_id], one.reason,
            scope.asked.name(one.person), one.at.date(), one.target.season if one.target else None, one.plants,
            one.withdrawn_at.date() if one.withdrawn_at else None, scope.asked.name(one.withdrawn_by),
            one.withdrawal,
        )
        for one in decisions
    ]  # fmt: skip
    return Table("decisions", _("Decisions of people"), columns, rows, ("decision_id",), _PAIR)
