"""The look back as tables for files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from nursery.i18n import gettext as _
from nursery.services.next_year import words
from nursery.services.next_year.changes import SpeciesChange
from nursery.services.next_year.errors import RateError
from nursery.services.next_year.reading import NextYear
from nursery.tabular.writer import Cell, Heading, Sheet


def error_headings() -> list[Heading]:
    """Of the rates."""
    return [
        Heading(_("Species"), width=28), Heading(_("Protocol"), width=22), Heading(_("Rate"), width=32),
        *_rate_headings(_("Planned")), Heading(_("Successes"), "number"), Heading(_("Trials"), "number"),
        Heading(_("Times looked at"), "number"), Heading(_("Last seen"), "date"), *_rate_headings(_("Seen")),
        *_rate_headings(_("The next plan takes")), Heading(_("Plants more or fewer"), "number"),
        Heading(_("Of plants expected"), "number"),
    ]  # fmt: skip


def error_cells(errors: Iterable[RateError]) -> Iterator[Sequence[Cell]]:
    """Rows of the rates."""
    for one in errors:
        planned, seen, following = one.planned, one.seen, one.following
        yield [
            one.species_name, one.protocol, one.label, planned.mean, planned.low, planned.high, seen.successes,
            seen.trials, seen.times, seen.last_on, seen.share, *seen.range, following.mean, following.low,
            following.high, one.plants, one.of_plants,
        ]  # fmt: skip


def change_headings() -> list[Heading]:
    """Of the next sowing."""
    pairs = (_("Ready plants"), _("Seeds"), _("Cells"), _("Trays"))
    return [
        Heading(_("Species"), width=28), Heading(_("Targets"), "number"),
        *(
            Heading(_("%(what)s, %(when)s", what=what, when=when), "number")
            for what in pairs for when in (_("by the plan’s rates"), _("by today’s rates"))
        ),
        Heading(_("Seeds per cell, by the plan’s rates")), Heading(_("Seeds per cell, by today’s rates")),
        Heading(_("Why"), width=60),
    ]  # fmt: skip


def change_cells(changes: Iterable[SpeciesChange]) -> Iterator[Sequence[Cell]]:
    """Rows of the next sowing."""
    for one in changes:
        amounts = [
            getattr(side, name)
            for name in ("ready", "seeds", "cells", "trays")
            for side in (one.before, one.after)
        ]
        yield [
            one.species_name, one.targets, *amounts, words.per_cell_text(one.before.seeds_per_cell),
            words.per_cell_text(one.after.seeds_per_cell), words.reason_text(one) if one.differs else "",
        ]  # fmt: skip


def sheets(found: NextYear) -> list[Sheet]:
    """The workbook."""
    changes = [one for one in found.changes if found.query.species in {"", one.species_key}]
    return [
        Sheet(_("Rates"), error_headings(), error_cells(found.errors)),
        Sheet(_("Next sowing"), change_headings(), change_cells(changes)),
    ]


def _rate_headings(name: str) -> list[Heading]:
    return [
        Heading(name, "percent"), Heading(_("%(name)s, low (10 %%)", name=name), "percent"),
        Heading(_("%(name)s, high (90 %%)", name=name), "percent"),
    ]  # fmt: skip
