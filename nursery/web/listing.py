"""A list as a page and as a file: the address says what is asked, the listing says what there is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any, TypedDict

from babel.support import LazyProxy
from flask import Response, g, request, stream_with_context, url_for
from markupsafe import Markup, escape
from sqlalchemy import Row
from werkzeug.datastructures import MultiDict

from nursery.i18n import format_date, format_moment, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.services.listing import (
    COUNT_LIMIT,
    PAGE,
    Column,
    Condition,
    Listing,
    ListQuery,
    Page,
    export_rows,
    read_page,
)
from nursery.tabular.writer import CSV_TYPE, XLSX_TYPE, Cell, CellKind, Heading, write_csv, write_xlsx
from nursery.web.access import may
from nursery.web.discretion import sees_private
from nursery.web.session import db, today

#: Rows of a file that are worked out at once.
_PORTION = 500
#: The largest number that an address takes; it stands for any record's while an address is worked out.
BIGGEST_ID = 2**31 - 1

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

    page: Page
    columns: list[dict[str, Any]]
    rows: list[tuple[Row[Any], list[tuple[Column, str]]]]
    choices: list[Choice]
    archives: bool
    action: str
    count: str
    previous_url: str
    next_url: str
    exports: list[tuple[str, str]]
    asked: bool


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
    listing: Listing, *, export: str = "", where: Sequence[Condition] = (), size: int = PAGE
) -> ListView:
    """The list that the present address asks for; ``export`` is the endpoint that gives it as a file."""
    listing = _seen(listing)
    query = read_query(listing, request.args)
    page = read_page(db(), listing, query, where=where, size=size)
    shown = [column for column in listing.columns if column.on_screen]
    return ListView(
        page=page,
        columns=[_head(column, page) for column in shown],
        rows=[(row, [(column, show_cell(column, row)) for column in shown]) for row in page.rows],
        choices=_choices(listing, query),
        archives=listing.archives,
        action=_url(request.endpoint or ""),
        count=_count(page),
        previous_url=_here(query, before=page.before) if page.before else "",
        next_url=_here(query, after=page.after) if page.after else "",
        exports=_exports(query, export) if export and page.rows else [],
        asked=bool(query.q or query.filters or query.archived != "no"),
    )


def _seen(listing: Listing) -> Listing:
    """The list without columns that this person may not see."""
    if sees_private():
        return listing
    return replace(listing, columns=tuple(column for column in listing.columns if not column.private))


def show_cell(column: Column, row: Row[Any]) -> str:
    """A cell as a person reads it, linked where the column leads somewhere."""
    text = show_value(column, getattr(row, column.key))
    target = getattr(row, f"{column.key}_link") if column.link and text else None
    way = None if column.link is None or target is None else _way(column.link[0])
    if way is None:
        return text
    before, after = way
    return Markup(f'<a href="{escape(before)}{target}{escape(after)}">{escape(text)}</a>')  # noqa: S704 -- all escaped


def _way(endpoint: str) -> tuple[str, str] | None:
    """The address of a record's page, cut where its number stands; None for who may not go there.

    Asked once an answer and page: addresses are dear, and a list has one in every row.
    """
    ways: dict[str, tuple[str, str] | None] = g.setdefault("ways", {})
    if endpoint not in ways:
        before, _number, after = url_for(endpoint, record_id=BIGGEST_ID).partition(str(BIGGEST_ID))
        ways[endpoint] = (before, after) if may(endpoint) else None
    return ways[endpoint]


def show_value(column: Column, value: Any) -> str:
    """A value in the reader's language; nothing for nothing."""
    if value is None or value == "":
        return ""
    write = _WRITERS.get(column.kind)
    return write(column, value) if write else str(value)


_WRITERS: dict[str, Callable[[Column, Any], str]] = {
    "taxon": lambda _column, value: Markup(f'<i class="taxon">{escape(value)}</i>'),  # noqa: S704 -- escaped
    "code": lambda _column, value: Markup(f'<span class="code">{escape(value)}</span>'),  # noqa: S704 -- escaped
    "choice": lambda column, value: str(column.choices.get(str(value), value)),
    "number": lambda column, value: format_number(value, column.digits),
    "amount": lambda _column, value: format_number(value / 1000, 3),
    "percent": lambda column, value: format_percent(value, column.digits),
    "date": lambda _column, value: format_date(value),
    "moment": lambda _column, value: format_moment(value),
    "season": lambda _column, value: f"{value}/{(value + 1) % 100:02d}",
}


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


def _head(column: Column, page: Page) -> dict[str, Any]:
    sorted_here = page.sort.key == column.key
    turned = sorted_here and not page.descending
    return {
        "label": str(column.label),
        "numeric": column.is_number,
        "unit": str(column.unit) or None,
        "url": _here(page.query, sort=f"-{column.key}" if turned else column.key) if column.sortable else None,
        "sorted": ("descending" if page.descending else "ascending") if sorted_here else None,
    }


def _choices(listing: Listing, query: ListQuery) -> list[Choice]:
    session = db()
    return [
        {
            "key": choice.key,
            "label": str(choice.label),
            "options": choice.options(session),
            "chosen": query.filters.get(choice.key, ""),
        }
        for choice in listing.filters
    ]


def _count(page: Page) -> str:
    if page.total is None:
        return _("More than %(num)s records", num=format_number(COUNT_LIMIT))
    return ngettext("%(num)s record", "%(num)s records", page.total)


def _exports(query: ListQuery, endpoint: str) -> list[tuple[str, str]]:
    kept = _kept(query)
    return [(name.upper(), _url(endpoint, file_format=name, **kept)) for name in ("csv", "xlsx")]


def _here(query: ListQuery, **changes: str) -> str:
    return _url(request.endpoint or "", **{**_kept(query), **changes})


def _url(endpoint: str, **values: str) -> str:
    return url_for(endpoint, **{**(request.view_args or {}), **values})


def _kept(query: ListQuery) -> dict[str, str]:
    """What stays when a person sorts or turns the page."""
    kept = {"q": query.q, "sort": query.sort, **query.filters}
    if query.archived != "no":
        kept["archived"] = query.archived
    return {name: value for name, value in kept.items() if value}
