"""A list as a page and as a file: the address says what is asked, the listing says what there is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice
from typing import Any, TypedDict
from urllib.parse import urlencode

from babel.support import LazyProxy
from flask import Response, request, stream_with_context, url_for
from sqlalchemy import Row
from werkzeug.datastructures import MultiDict

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.services.listing import (
    COUNT_LIMIT,
    PAGE,
    Column,
    Condition,
    Listing,
    ListQuery,
    Page,
    choice_labels,
    export_rows,
    read_page,
)
from nursery.tabular.writer import CSV_TYPE, XLSX_TYPE, Cell, CellKind, Heading, write_csv, write_xlsx
from nursery.web.cells import Cells, read_cells, show_value
from nursery.web.discretion import sees_private
from nursery.web.once import once
from nursery.web.session import db, today

#: What an address holds as it is, as the WHATWG's URL standard says, and Flask's own addresses do.
_PLAIN = "!$'()*,/:;?@"
#: Rows of a file that are worked out at once.
_PORTION = 500

_KINDS: dict[str, CellKind] = {
    "number": "number",
    "season": "text",
    "year": "number",
    "amount": "number",
    "percent": "percent",
    "date": "date",
}


class Choice(TypedDict):
    """A filter above the list."""

    key: str
    label: str
    options: Sequence[tuple[str, str]]
    chosen: str


@dataclass(frozen=True)
class Computed:
    """A column of files that no query gives: texts by id, worked out for a portion of the rows at once."""

    label: LazyProxy
    read: Callable[[Sequence[int]], Mapping[int, str]]


@dataclass(frozen=True)
class ListView:
    """Everything ``records/_listing.html`` draws."""

    listing: Listing
    page: Page
    columns: list[dict[str, Any]]
    rows: Cells
    action: str
    count: str
    previous_url: str
    next_url: str
    exports: list[tuple[str, str]]
    asked: bool
    #: What was asked of which list, where: all that heads and filters depend on but the records.
    key: Hashable

    @property
    def archives(self) -> bool:
        """Whether the records can be put aside."""
        return self.listing.archives

    @property
    def choices(self) -> list[Choice]:
        """The filters, read where they are drawn: a list within another record's page has none."""
        session, chosen = db(), self.page.query.filters
        return [
            {
                "key": choice.key,
                "label": str(choice.label),
                "options": choice_labels(session, choice),
                "chosen": chosen.get(choice.key, ""),
            }
            for choice in self.listing.filters
        ]


def read_query(listing: Listing, args: MultiDict[str, str]) -> ListQuery:
    """What the address asks for."""
    archived = args.get("archived", "no")
    return ListQuery(
        q=args.get("q", "").strip()[:200],
        filters={
            choice.key: text for choice in listing.filters if (text := args.get(choice.key, "").replace("\0", ""))
        },
        archived="yes" if archived == "yes" else "all" if archived == "all" else "no",
        sort=args.get("sort", ""),
        after=args.get("after", ""),
        before=args.get("before", ""),
    )


def view_list(
    listing: Listing, *, export: str = "", where: Sequence[Condition] = (), size: int = PAGE, whole: bool = False
) -> ListView:
    """The list that the present address asks for; ``export`` is the endpoint that gives it as a file.

    ``whole`` gives the rows all columns, for pages that draw more from them than the columns on screen.
    """
    listing = _seen(listing)
    query = read_query(listing, request.args)
    page = read_page(db(), listing, query, where=where, size=size, whole=whole)
    shown = [column for column in listing.columns if column.on_screen]
    here, asked = _path(request.endpoint or ""), _asked(query)
    return ListView(
        listing=listing,
        page=page,
        columns=[_head(column, page, here, asked) for column in shown],
        rows=read_cells(shown, page.rows),
        action=here,
        count=_count(page),
        previous_url=_url(here, {**asked, "before": page.before}) if page.before else "",
        next_url=_url(here, {**asked, "after": page.after}) if page.after else "",
        exports=_exports(export, asked) if export and page.rows else [],
        asked=bool(query.q or query.filters or query.archived != "no"),
        key=(listing, here, *asked.items()),
    )


def _seen(listing: Listing) -> Listing:
    """The list without columns that this person may not see."""
    return listing if sees_private() else _without_private(listing)


@lru_cache(maxsize=128)
def _without_private(listing: Listing) -> Listing:
    """Made once, since a list's statements are made once for each list."""
    return replace(listing, columns=tuple(column for column in listing.columns if not column.private))


def export_list(
    listing: Listing, title: str, file_format: str, *, where: Sequence[Condition] = (),
    computed: Sequence[Computed] = (),
) -> Response:  # fmt: skip
    """The whole list as filtered and sorted, as ``csv`` (with a byte order mark on ``bom=1``) or ``xlsx``."""
    listing = _seen(listing)
    query = read_query(listing, request.args)
    headings = [_heading(column) for column in listing.columns]
    headings += [Heading(str(column.label), "text", width=28) for column in computed]
    rows = _cells(listing, export_rows(db(), listing, query, where=where), computed)
    return send_table(title, headings, rows, file_format)


def _cells(listing: Listing, rows: Iterator[Row[Any]], computed: Sequence[Computed]) -> Iterator[Sequence[Cell]]:
    while portion := list(islice(rows, _PORTION)):
        ids = [row.id for row in portion]
        texts = [column.read(ids) for column in computed]
        for row in portion:
            cells = [_cell(column, getattr(row, column.key)) for column in listing.columns]
            yield [*cells, *(found.get(row.id, "") for found in texts)]


def send_table(
    title: str, headings: Sequence[Heading], rows: Iterator[Sequence[Cell]], file_format: str
) -> Response:
    """Any table as a download named after its title and the day."""
    if file_format == "xlsx":
        portions, kind = write_xlsx(title, headings, rows), XLSX_TYPE
    else:
        portions, kind = write_csv(headings, rows, bom=request.args.get("bom") == "1"), CSV_TYPE
    response = Response(stream_with_context(portions), content_type=kind)
    response.headers.set(
        "Content-Disposition", "attachment", filename=f"{title} {today().isoformat()}.{file_format}"
    )
    return response


def _heading(column: Column) -> Heading:
    unit = str(column.unit)
    label = f"{column.label} ({unit})" if unit else str(column.label)
    kind = _KINDS.get(column.kind, "text")
    digits = 3 if column.kind == "amount" else None
    return Heading(label, kind, digits=digits, width=28 if column.kind in {"text", "taxon"} else 14)


def _cell(column: Column, value: Any) -> Cell:
    if column.kind == "moment" and value is not None:  # tables hold no time zone: it is that of this machine
        moment: dt.datetime = value
        return moment.astimezone().strftime("%Y-%m-%d %H:%M")
    if value is None or isinstance(value, dt.date):
        return value
    if column.kind == "amount":
        return float(value) / 1000
    if column.kind in {"number", "percent", "year"}:
        number: float = value
        return number
    return show_value(column, value) if column.kind in {"choice", "season"} else str(value)


def _head(column: Column, page: Page, here: str, asked: Mapping[str, str]) -> dict[str, Any]:
    sorted_here = page.sort.key == column.key
    turned = sorted_here and not page.descending
    order = f"-{column.key}" if turned else column.key
    return {
        "label": str(column.label),
        "numeric": column.is_number,
        "unit": str(column.unit) or None,
        "url": _url(here, {**asked, "sort": order}) if column.sortable else None,
        "sorted": ("descending" if page.descending else "ascending") if sorted_here else None,
    }


def _count(page: Page) -> str:
    if page.total is None:
        return _("More than %(num)s records", num=format_number(COUNT_LIMIT))
    return ngettext("%(num)s record", "%(num)s records", page.total)


def _exports(endpoint: str, asked: Mapping[str, str]) -> list[tuple[str, str]]:
    return [(name.upper(), _url(_path(endpoint, file_format=name), asked)) for name in ("csv", "xlsx")]


def _path(endpoint: str, **values: str) -> str:
    """The path of a page; that of a record's page belongs to the same record."""
    given: dict[str, Any] = {**(request.view_args or {}), **values}
    return once(("path", endpoint, request.script_root, *given.items()), lambda: url_for(endpoint, **given))


def _url(path: str, asked: Mapping[str, str]) -> str:
    """The address of a list in another order, or of another page of it."""
    return f"{path}?{urlencode(asked, safe=_PLAIN)}" if asked else path


def _asked(query: ListQuery) -> dict[str, str]:
    """What stays when a person sorts or turns the page."""
    asked = {"q": query.q, "sort": query.sort, **query.filters}
    if query.archived != "no":
        asked["archived"] = query.archived
    return {name: value for name, value in asked.items() if value}
