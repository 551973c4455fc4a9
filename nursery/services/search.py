"""Search by any code or name over all records and the catalogue."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy
from sqlalchemy import func, literal, select, union_all
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Dispatch, Lot, Population, Site, Trip
from nursery.services import containers, lots, nurseries, populations, sites, storage, targets, trips
from nursery.services.batches.listing import LISTING as BATCHES
from nursery.services.codes import check_lot_code
from nursery.services.dispatches.listing import LISTING as LOADS
from nursery.services.listing import Listing, ListQuery, Page, read_page
from nursery.services.species import SpeciesQuery, list_species

#: Rows shown of each kind; the list itself shows the rest.
SHOWN = 8
#: Looks like a lot code of ours, with or without its hyphens.
_LOT_CODE = re.compile(r"[A-Z0-9]{4}[-\s]?[A-Z0-9]{4}[-\s]?[A-Z0-9]")
_CODED: dict[str, Any] = {
    "populations": Population, "trips": Trip, "lots": Lot, "batches": Batch, "sites": Site, "dispatches": Dispatch,
}  # fmt: skip


@dataclass(frozen=True)
class Kind:
    """A kind of record that can be found: its list, and the columns that tell a person which one it is."""

    name: str
    label: LazyProxy
    listing: Listing
    shown: tuple[str, ...]


KINDS = (
    Kind("populations", _l("Populations"), populations.LISTING, ("code", "name", "species", "region")),
    Kind("trips", _l("Collection trips"), trips.LISTING, ("code", "date", "people")),
    Kind("lots", _l("Lots"), lots.LISTING, ("code", "species", "population", "ripening_year")),
    Kind("batches", _l("Batches"), BATCHES, ("code", "species", "stage", "site")),
    Kind("dispatches", _l("Loads"), LOADS, ("code", "status", "site", "day")),
    Kind("sites", _l("Planting sites"), sites.LISTING, ("code", "name", "basin")),
    Kind("targets", _l("Targets"), targets.LISTING, ("species", "site", "season", "wanted")),
    Kind("nurseries", _l("Nurseries"), nurseries.LISTING, ("name",)),
    Kind("containers", _l("Containers"), containers.LISTING, ("name", "nursery")),
    Kind("storage", _l("Storage places"), storage.LISTING, ("name", "notes")),
)


@dataclass(frozen=True)
class Group:
    """What was found of one kind."""

    kind: Kind
    page: Page


@dataclass(frozen=True)
class Results:
    """All that was found, the kinds without a hit left out."""

    species: list[SpeciesEntry]
    groups: list[Group]
    #: What is wrong with a text that looks like a lot code, and the codes it may stand for.
    misread: str = ""
    near: tuple[tuple[int, str], ...] = ()

    @property
    def empty(self) -> bool:
        """Whether nothing was found at all."""
        return not (self.species or self.groups)


def find_code(session: Session, text: str) -> tuple[str, int] | None:
    """The one record with exactly this code, as (kind, id), whatever its capitals; archived ones too."""
    wanted = {text.casefold(), _as_lot_code(text).casefold()}
    matches = (
        select(literal(kind), model.id).where(func.lower(model.code).in_(wanted)) for kind, model in _CODED.items()
    )
    found = session.execute(union_all(*matches).limit(2)).all()
    return (found[0][0], found[0][1]) if len(found) == 1 else None


def search(session: Session, text: str) -> Results:
    """Species and records whose codes or names hold every word of the text."""
    query = ListQuery(q=text, archived="all")
    pages = ((kind, read_page(session, kind.listing, query, size=SHOWN)) for kind in KINDS)
    misread = _misread(text)
    return Results(
        species=[row.entry for row in list_species(session, SpeciesQuery(q=text))],
        groups=[Group(kind, page) for kind, page in pages if page.rows],
        misread=misread,
        near=_near(session, text) if misread else (),
    )


def _as_lot_code(text: str) -> str:
    try:
        return check_lot_code(text)
    except Invalid:
        return text


def _misread(text: str) -> str:
    """What is wrong with a lot code; nothing for other texts."""
    typed = " ".join(text.upper().split())
    # A code has a digit or hyphens; nine plain letters are a word.
    if not _LOT_CODE.fullmatch(typed) or not any(c.isdigit() or c == "-" for c in typed):
        return ""
    try:
        check_lot_code(text)
    except Invalid:
        return _(
            "“%(code)s” looks like a lot code, but its check character does not fit: a character is wrong, or two"
            " are swapped. Look at the label again.",
            code=typed,
        )
    return ""


def _near(session: Session, text: str) -> tuple[tuple[int, str], ...]:
    """Codes of lots that the text may have meant."""
    typed = "".join(c for c in text.upper() if c.isalnum())
    begins = Lot.code.startswith(typed[:2], autoescape=True)
    ends = Lot.code.endswith(typed[-1:], autoescape=True)
    rows = session.execute(select(Lot.id, Lot.code).where(begins | ends).order_by(Lot.id.desc()).limit(2000))
    codes = {code.replace("-", ""): (key, code) for key, code in rows}
    return tuple(codes[found] for found in difflib.get_close_matches(typed, list(codes), n=3, cutoff=0.75))
