"""Verdicts as tables for files."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from nursery.i18n import gettext as _
from nursery.models import Species
from nursery.services.origin.matrix import rules_in_order
from nursery.services.origin.words import DECISION_LABELS, SOURCE_LABELS, VERDICT_LABELS, rule_label
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
