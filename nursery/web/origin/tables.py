"""Verdicts as tables for files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from nursery.i18n import gettext as _
from nursery.models import Decision, Species
from nursery.services.origin.matrix import rules_in_order
from nursery.services.origin.words import DECISION_LABELS, SOURCE_LABELS, VERDICT_LABELS, rule_label
from nursery.services.seasons import season_name
from nursery.tabular.writer import Cell, Heading


def matrix_title(species: Species | None) -> str:
    """The file's title."""
    return _("Origin of %(species)s", species=species.scientific_name if species else "")


def matrix_headings() -> list[Heading]:
    """One column for each rule behind the verdict."""
    return [
        Heading(_("Lot")), Heading(_("Site code")), Heading(_("Verdict")), Heading(_("Source")),
        Heading(_("Distance (km)"), "number", digits=1), Heading(_("Decision")),
        *(Heading(rule_label(rule)) for rule in rules_in_order()),
    ]  # fmt: skip


def matrix_cells(rows: Iterator[list[Any]]) -> Iterator[list[Cell]]:
    """Verdicts in words; empty where a rule has nothing to say."""
    for lot, site, verdict, source, metres, decision, *by_rule in rows:
        yield [
            lot, site, str(VERDICT_LABELS[verdict]), str(SOURCE_LABELS[source]), metres / 1000,
            str(DECISION_LABELS[decision]) if decision else "",
            *("" if one is None else str(VERDICT_LABELS[one]) for one in by_rule),
        ]  # fmt: skip


def decision_headings() -> list[Heading]:
    """Of all decisions."""
    return [
        Heading(_("Lot")), Heading(_("Species"), width=28), Heading(_("Site code")),
        Heading(_("Planting site"), width=28), Heading(_("Decision")), Heading(_("Season")),
        Heading(_("Plants"), "number"), Heading(_("Reason"), width=40), Heading(_("Person")),
        Heading(_("Decided on"), "date"), Heading(_("Withdrawn on"), "date"), Heading(_("Withdrawn by")),
        Heading(_("Withdrawn because"), width=40),
    ]  # fmt: skip


def decision_cells(rows: Sequence[Decision]) -> Iterator[list[Cell]]:
    """One row a decision."""
    for one in rows:
        yield [
            one.lot.code, one.lot.species.scientific_name, one.site.code, one.site.name,
            str(DECISION_LABELS[one.kind]), season_name(one.target.season) if one.target else "", one.plants,
            one.reason, one.person, one.at.date(), one.withdrawn_at.date() if one.withdrawn_at else None,
            one.withdrawn_by, one.withdrawal,
        ]  # fmt: skip
