"""Lists of records: columns, search, filters, sorting and keyset pages, declared once a noun.

A page of a list costs one query whatever its length, because a list selects the columns it shows and no objects.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Literal

from babel.support import LazyProxy
from sqlalchemy import ColumnElement, Row, Select, func, null, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from nursery.database import read_columns
from nursery.i18n import current_locale
from nursery.models import Species
from nursery.models.base import Base
from nursery.services.keyset import Cursor, SortKey, comparable
from nursery.services.naming import species_named_like
from nursery.services.remembering import remembered

Kind = Literal[
    "text", "code", "taxon", "number", "date", "percent", "amount", "season", "year", "choice", "moment"
]
Archived = Literal["no", "yes", "all"]
Condition = ColumnElement[bool]
Expression = Any  # a mapped attribute or any SQL expression; SQLAlchemy gives them no common type

PAGE = 50
#: Counting stops here, so that a long list never waits for its own length.
COUNT_LIMIT = 10_000
#: Statements that are kept: of all lists of the product, and of some that are made for a day or a plan.
_STATEMENTS = 512


@dataclass(frozen=True)
class Column:
    """One column of a list: what it is called, where it comes from and how it is written.

    ``link`` is a page's endpoint and the expression that gives its ``record_id``; ``choices`` names coded words;
    ``nullable`` is read from the table where it is not given.
    """

    key: str
    label: LazyProxy
    value: Expression
    kind: Kind = "text"
    digits: int = 0
    unit: str | LazyProxy = ""
    link: tuple[str, Expression] | None = None
    choices: Mapping[Any, LazyProxy] = field(default_factory=dict)
    sortable: bool = True
    nullable: bool | None = None
    #: False for columns that only an exported table carries.
    on_screen: bool = True
    #: True for what only those see who may see private data.
    private: bool = False

    @property
    def is_number(self) -> bool:
        """Whether the column is set flush right and holds numbers."""
        return self.kind in {"number", "percent", "amount"}


@dataclass(frozen=True, eq=False)
class Filter:
    """A choice above the list; ``options`` gives (value, label) pairs in one query, ``parse`` reads a value.

    What the options are may depend on the records and the reader's language only: they are remembered.
    """

    key: str
    label: LazyProxy
    value: Expression
    options: Callable[[Session], Sequence[tuple[str, str]]]
    parse: Callable[[str], Any] = str


@dataclass(frozen=True, eq=False)
class Listing:
    """A kind of list. ``joins`` adds the other tables; ``order`` is the column it opens with (``-key`` turns).

    Its statements are made once, so a list that is made anew for each request is slower than one that is kept.
    """

    model: type[Base]
    columns: tuple[Column, ...]
    order: str
    joins: Callable[[Select[Any]], Select[Any]] = lambda query: query
    search: tuple[Expression, ...] = ()
    #: True lets the search find synonyms and common names too; ``joins`` must then bring in ``Species``.
    search_species: bool = False
    filters: tuple[Filter, ...] = ()

    @property
    def archives(self) -> bool:
        """Whether the records can be put aside."""
        return hasattr(self.model, "archived_at")

    def column(self, key: str) -> Column:
        """The column of that key; ``KeyError`` when there is none."""
        return next(column for column in self.columns if column.key == key)


@dataclass(frozen=True)
class ListQuery:
    """What a person asks of a list; nonsense in any part counts as not asked."""

    q: str = ""
    filters: Mapping[str, str] = field(default_factory=dict)
    archived: Archived = "no"
    sort: str = ""
    after: str = ""
    before: str = ""


@dataclass(frozen=True)
class Page:
    """One page of a list and the cursors of its neighbours."""

    rows: Sequence[Row[Any]]
    query: ListQuery
    sort: Column
    descending: bool
    after: str = ""
    before: str = ""
    #: Rows in all, or None beyond ``COUNT_LIMIT``.
    total: int | None = 0


def read_page(
    session: Session,
    listing: Listing,
    query: ListQuery,
    *,
    where: Sequence[Condition] = (),
    size: int = PAGE,
    whole: bool = True,
) -> Page:
    """One page: the first, or the one after or before a cursor; ``where`` narrows the list for good.

    Without ``whole`` the rows have the columns that are on screen only.
    """
    order = _sorted_by(listing, query.sort)
    key, column = _sort(listing, order)
    backward = Cursor.parse(query.before, key)
    forward = None if backward else Cursor.parse(query.after, key)
    statement = _narrowed(listing, query, _first_rows(listing, order, query.archived, size, whole), where)
    if backward:
        statement = statement.where(key.before(backward)).order_by(None).order_by(*key.reversed_order)
    elif forward:
        statement = statement.where(key.after(forward))
    rows = list(read_columns(session, statement))
    more = len(rows) > size
    rows = rows[:size]
    if (backward or forward) and not rows:  # what lay beyond the cursor is gone: begin again
        query = replace(query, after="", before="")
        return read_page(session, listing, query, where=where, size=size, whole=whole)
    if backward:
        rows.reverse()
    has_previous, has_next = (more, True) if backward else (forward is not None, more)
    return Page(
        rows=rows,
        query=query,
        sort=column,
        descending=key.descending,
        before=key.cursor(rows[0]).text if rows and has_previous else "",
        after=key.cursor(rows[-1]).text if rows and has_next else "",
        total=_count(session, listing, query, where),
    )


def export_rows(
    session: Session, listing: Listing, query: ListQuery, *, where: Sequence[Condition] = ()
) -> Iterator[Row[Any]]:
    """Every row of the list as filtered and sorted, read in portions."""
    statement = _narrowed(
        listing, query, _all_rows(listing, _sorted_by(listing, query.sort), query.archived), where
    )
    yield from session.execute(statement, execution_options={"yield_per": 500})


def conditions(listing: Listing, query: ListQuery) -> list[ColumnElement[bool]]:
    """What a query asks of the rows, for sums over the same rows; the listing's joins must be there."""
    return [*_kept_or_put_aside(listing, query.archived), *_asked_for(listing, query)]


def options_of(column: InstrumentedAttribute[Any]) -> Callable[[Session], Sequence[tuple[str, str]]]:
    """Filter options: the values that active records hold in ``column``."""

    def read(session: Session) -> Sequence[tuple[str, str]]:
        model = column.class_
        values = session.scalars(
            select(column).where(model.archived_at.is_(None)).distinct().order_by(column).limit(500)
        )
        return [(str(value), str(value)) for value in values if value not in (None, "")]

    return read


def species_options(model: type[Any]) -> Callable[[Session], Sequence[tuple[str, str]]]:
    """Filter options: the species that records of ``model`` have."""

    def read(session: Session) -> Sequence[tuple[str, str]]:
        used = select(model.species_id).where(model.archived_at.is_(None))
        found = session.execute(
            select(Species.key, Species.scientific_name)
            .where(Species.id.in_(used))
            .order_by(Species.scientific_name)
        )
        return [(key, name) for key, name in found]

    return read


def choice_options(choices: Mapping[Any, LazyProxy]) -> Callable[[Session], Sequence[tuple[str, str]]]:
    """Filter options: a fixed list of words."""
    return lambda _session: [(str(value), str(label)) for value, label in choices.items()]


def whole(text: str) -> int:
    """A filter's whole number, small enough for any database; else ``ValueError``."""
    value = int(text)
    if abs(value) >= 2**31:
        raise ValueError(text)
    return value


def archived_at(model: type[Base]) -> Expression:
    """When a record was put aside; never, for tables whose rows cannot be."""
    return getattr(model, "archived_at", null())


def _sorted_by(listing: Listing, asked: str) -> str:
    """What the list is sorted by: what was asked where that can be, or else its own order."""
    key = asked.removeprefix("-")
    return asked if any(column.key == key and column.sortable for column in listing.columns) else listing.order


@lru_cache(maxsize=_STATEMENTS)
def _sort(listing: Listing, order: str) -> tuple[SortKey, Column]:
    column = listing.column(order.removeprefix("-"))
    value = column.value
    nullable = getattr(value, "nullable", True) if column.nullable is None else column.nullable
    expression = comparable(value)
    if expression is value and column.kind in {"text", "taxon"}:
        # Capitals and small letters mix as a reader expects, and blanks come last; codes keep their index.
        expression, nullable = func.lower(func.nullif(value, "")), True
    key = SortKey(
        expression=expression,
        row_id=listing.model.id,
        descending=order.startswith("-"),
        nullable=bool(nullable),
    )
    return key, column


@lru_cache(maxsize=_STATEMENTS)
def _all_rows(listing: Listing, order: str, archived: Archived, whole: bool = True) -> Select[Any]:
    """The rows of a list before anything is searched for, in their order."""
    key, _column = _sort(listing, order)
    model = listing.model
    columns = [column for column in listing.columns if whole or column.on_screen]
    shown = [column.value.label(column.key) for column in columns]
    links = [column.link[1].label(f"{column.key}_link") for column in columns if column.link]
    statement = select(model.id.label("id"), archived_at(model).label("archived_at"), *shown, *links)
    statement = statement.add_columns(key.expression.label("sort_value"))
    return (
        listing.joins(statement.select_from(model))
        .where(*_kept_or_put_aside(listing, archived))
        .order_by(*key.order)
    )


@lru_cache(maxsize=_STATEMENTS)
def _first_rows(listing: Listing, order: str, archived: Archived, size: int, whole: bool) -> Select[Any]:
    """A page of them, and one row more, which tells whether there is a next page."""
    return _all_rows(listing, order, archived, whole).limit(size + 1)


def _narrowed(
    listing: Listing, query: ListQuery, statement: Select[Any], where: Sequence[Condition]
) -> Select[Any]:
    """The rows that are asked for; the statement itself where nothing is, so that its key is not made anew."""
    wanted = (*where, *_asked_for(listing, query))
    return statement.where(*wanted) if wanted else statement


def _kept_or_put_aside(listing: Listing, archived: Archived) -> Iterator[ColumnElement[bool]]:
    if archived != "all" and listing.archives:
        put_aside = archived_at(listing.model)
        yield put_aside.is_not(None) if archived == "yes" else put_aside.is_(None)


def _asked_for(listing: Listing, query: ListQuery) -> Iterator[ColumnElement[bool]]:
    """What the filters and the search ask of the rows."""
    for choice in listing.filters:
        text = query.filters.get(choice.key, "")
        if text:
            try:
                yield choice.value == choice.parse(text)
            except ValueError:
                continue
    for word in query.q.replace("\0", " ").split()[:8]:
        yield _matches(listing, word)


def _matches(listing: Listing, word: str) -> ColumnElement[bool]:
    # SQLite folds only ASCII capitals; the spellings a person may have stored are tried beside the typed one.
    spellings = dict.fromkeys((word, word.lower(), word.capitalize(), word.upper()))
    found = [
        expression.icontains(spelling, autoescape=True) for expression in listing.search for spelling in spellings
    ]
    if listing.search_species:
        found.append(Species.key.in_(species_named_like(word)))
    return or_(*found)


def _count(session: Session, listing: Listing, query: ListQuery, where: Sequence[Condition]) -> int | None:
    """How many rows there are; remembered where nothing but the address narrows the list."""

    def count() -> int:
        statement = listing.joins(select(listing.model.id).select_from(listing.model))
        few = statement.where(*where, *conditions(listing, query)).limit(COUNT_LIMIT + 1).subquery()
        return session.scalar(select(func.count()).select_from(few)) or 0

    asked = (listing, query.archived, query.q, *sorted(query.filters.items()))
    total = count() if where else remembered(session, asked, count)
    return total if total <= COUNT_LIMIT else None


def choice_labels(session: Session, choice: Filter) -> Sequence[tuple[str, str]]:
    """What can be chosen in a filter: (value, label) pairs."""
    return remembered(session, (choice, current_locale()), lambda: choice.options(session))
