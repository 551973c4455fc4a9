"""Rows of a list as plain JSON values, a page at a time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from enum import Enum
from typing import Any

from sqlalchemy import Boolean, Row
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.services.interface.resources import MOST, SIZE, Resource
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Listing, ListQuery, read_page

ARCHIVED = ("no", "yes", "all")
#: Characters of a search.
LONGEST = 200
SIZES = Bounds(1, MOST)


def list_rows(session: Session, resource: Resource, asked: Mapping[str, str], *, today: dt.date) -> dict[str, Any]:
    """A page of a list: ``items``, how many there are in ``total``, and ``after``, which asks for the next.

    Raises
    ------
    Invalid
        By the name of the parameter; nothing is guessed, since nobody would see it.
    """
    listing = resource.listing(today)
    query, size = _read(listing, asked)
    page = read_page(session, listing, query, size=size)
    if query.after and page.query.after and not page.before:
        raise Invalid({"after": _("This is no place in the list. Take “after” as the page before gave it.")})
    # Where what lay beyond the place is gone, pages begin again; a program would read for ever.
    is_over = bool(query.after) and not page.query.after
    return {
        "items": [] if is_over else [tell(resource, listing, row) for row in page.rows],
        "total": page.total,
        "after": None if is_over else page.after or None,
    }


def one_row(session: Session, resource: Resource, record_id: int, *, today: dt.date) -> dict[str, Any]:
    """One record, put aside or not."""
    listing = resource.listing(today)
    query = ListQuery(archived="all")
    page = read_page(session, listing, query, where=(listing.model.id == record_id,), size=1)
    if not page.rows:
        raise NotFound(_("There is no such record. It may have been typed wrongly."))
    return tell(resource, listing, page.rows[0])


def tell(resource: Resource, listing: Listing, row: Row[Any]) -> dict[str, Any]:
    """A row as data: coded words, ISO days, fractions 0–1, masses in g."""
    told: dict[str, Any] = {"id": row.id}
    if listing.archives:
        told["archived"] = row.archived_at is not None
    for column in listing.columns:
        told[column.key] = plain(column, getattr(row, column.key))
        if (key := link_key(listing, column)) is not None:
            told[key] = getattr(row, f"{column.key}_link")
    return dict(resource.tell(row, told))


def link_key(listing: Listing, column: Column) -> str | None:
    """The name under which the record that a column names is pointed at; None where it is the row itself."""
    if column.link is None or column.link[1] is listing.model.id:
        return None
    return f"{column.key}_{column.link[1].key}"


def is_truth(column: Column) -> bool:
    """Whether a column is yes or no."""
    return isinstance(column.value.type, Boolean)


def plain(column: Column, value: Any) -> Any:
    """A value as JSON holds it."""
    if value is None:
        return None
    if is_truth(column):
        return bool(value)
    if column.kind == "amount":
        return float(value) / 1000
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, dt.date):
        return value.isoformat()
    return value


def _read(listing: Listing, asked: Mapping[str, str]) -> tuple[ListQuery, int]:
    filters = {each.key: each for each in listing.filters}
    own = {"q", "sort", "after", "size", *(("archived",) if listing.archives else ())}
    wrong = {name: _unknown(name, [*own, *filters]) for name in asked if name not in own and name not in filters}
    for name, each in filters.items():
        if text := asked.get(name, ""):
            try:
                each.parse(text)
            except ValueError:
                wrong[name] = _("“%(text)s” is none of the choices.", text=text[:40])
    wrong |= {name: _("A zero byte is no text.") for name, text in asked.items() if "\0" in text}
    sort = asked.get("sort", "")
    if sort and sort not in sorts(listing):
        wrong["sort"] = _("The list cannot be sorted by “%(text)s”.", text=sort[:40])
    archived = asked.get("archived") or "no"
    if archived not in ARCHIVED:
        wrong["archived"] = _("Give one of: %(known)s.", known=", ".join(ARCHIVED))
    if len(asked.get("q", "")) > LONGEST:
        wrong["q"] = _("At most %(most)s characters are searched for.", most=LONGEST)
    size = _size(asked.get("size", ""), wrong)
    if wrong:
        raise Invalid(wrong)
    query = ListQuery(
        q=asked.get("q", "").strip(),
        filters={name: asked[name] for name in filters if asked.get(name)},
        archived=archived,  # type: ignore[arg-type]
        sort=sort,
        after=asked.get("after", ""),
    )
    return query, size


def sorts(listing: Listing) -> list[str]:
    """What a list can be sorted by, either way."""
    return [turned + column.key for column in listing.columns if column.sortable for turned in ("", "-")]


def _size(text: str, wrong: dict[str, str]) -> int:
    if not text:
        return SIZE
    size = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    if refusal := SIZES.refusal(size):
        wrong["size"] = refusal
    return size


def _unknown(name: str, known: list[str]) -> str:
    return _(
        "There is nothing “%(name)s” to ask for here. Known are: %(known)s.",
        name=name[:40],
        known=", ".join(sorted(known)),
    )
