"""A pick list on paper: bench by bench, then the order of loading, with room for a tick and a signature."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from nursery.documents.heavy import paged
from nursery.documents.pages import Head


@dataclass(frozen=True, slots=True)
class PickSheet:
    """Everything that is printed, in words."""

    title: str
    foot: str
    facts: Sequence[tuple[str, str]]
    #: What keeps people from the plants; it stands above all.
    stops: Sequence[str]
    picks_title: str
    pick_heads: Sequence[Head]
    picks: Sequence[Sequence[str]]
    pick_total: Sequence[str]
    order_title: str
    order_note: str
    order_heads: Sequence[Head]
    order: Sequence[Sequence[str]]
    cautions: Sequence[str]
    #: Rules to be filled in by hand.
    by_hand: Sequence[str]


def pick_list_pdf(sheet: PickSheet, *, day: dt.date, language: str) -> bytes:
    """Lay it out."""
    pages = paged.Pages(title=sheet.title, foot=sheet.foot, day=day, language=language)
    pages.heading(sheet.title)
    for told in sheet.stops:
        pages.paragraph(told, bold=True)
    pages.facts(sheet.facts)
    pages.heading(sheet.picks_title, level=2)
    pages.table_of(sheet.pick_heads, sheet.picks, total=sheet.pick_total)
    pages.heading(sheet.order_title, level=2)
    pages.paragraph(sheet.order_note, soft=True)
    pages.table_of(sheet.order_heads, sheet.order)
    pages.points(sheet.cautions)
    pages.facts([(label, "") for label in sheet.by_hand])
    return pages.content()
