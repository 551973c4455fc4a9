"""The season's stock as tables: columns that page, PDF and workbook share, and rows for files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from babel.support import LazyProxy

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.ready.query import LABELS, TITLES, WITH_WANTS, By
from nursery.services.ready.rows import Numbers
from nursery.services.ready.season import Group, ReadySeason, unnamed
from nursery.services.ready.week_rows import WeekRow, When, species_weeks
from nursery.tabular.writer import Cell, Heading, Sheet


@dataclass(frozen=True, slots=True)
class Column:
    """A number of a group: its name in `Numbers`, what it is called, and whether it is about what is wanted."""

    key: str
    label: LazyProxy
    is_want: bool = False
    #: Not a column of its own on screen and paper, where it stands beneath another.
    in_files: bool = False


COLUMNS = (
    Column("ready", _l("Ready now")),
    Column("expected", _l("Forecast")),
    Column("low", _l("Low (10 %)"), in_files=True),
    Column("high", _l("High (90 %)"), in_files=True),
    Column("allocated", _l("Allocated")),
    Column("held", _l("In quarantine"), in_files=True),
    Column("free", _l("Free")),
    Column("free_now", _l("Free and ready now"), in_files=True),
    Column("short", _l("Short"), is_want=True),
    Column("to_sow", _l("Still to sow"), is_want=True),
    Column("wanted", _l("Asked for"), is_want=True),
    Column("sent", _l("Sent out"), is_want=True),
)


def columns_of(by: By, *, files: bool = False) -> list[Column]:
    """Columns of a grouping; what is wanted has a place in some of them only."""
    return [
        column for column in COLUMNS
        if (by in WITH_WANTS or not column.is_want) and (files or not column.in_files)
    ]  # fmt: skip


def range_text(numbers: Numbers) -> str:
    """The 10–90 % range in words; empty where nothing is left to chance."""
    if numbers.low == numbers.high:
        return ""
    return _("%(low)s to %(high)s", low=format_number(numbers.low), high=format_number(numbers.high))


def group_headings(by: By) -> list[Heading]:
    """Of the file of one grouping."""
    named = [Heading(str(LABELS[by]), width=32)]
    if by is By.BATCH:
        named = [
            Heading(_("Batch")), Heading(_("Species"), width=28), Heading(_("Container"), width=28),
            Heading(_("Size grade")), Heading(_("Origin"), width=36), Heading(_("Nursery"), width=24),
            Heading(_("Planting site"), width=28), Heading(_("Stage")), Heading(_("Ready"), "date"),
        ]  # fmt: skip
    return [*named, *(Heading(str(column.label), "number") for column in columns_of(by, files=True))]


def group_cells(groups: Iterable[Group], by: By) -> Iterator[Sequence[Cell]]:
    """Rows of the file of one grouping."""
    columns = columns_of(by, files=True)
    for group in groups:
        named: list[Cell] = [group.name]
        if by is By.BATCH:
            one = group.stock[0]
            named = [
                one.code, one.species_name, one.container_name, one.grade or unnamed(By.GRADE), one.origin.label,
                one.nursery_name, one.site_name or unnamed(By.SITE), str(STAGE_LABELS[one.stage]), one.ready_on,
            ]  # fmt: skip
        yield [*named, *(getattr(group.numbers, column.key) for column in columns)]


def total_cells(season: ReadySeason, by: By) -> list[Cell]:
    """The row of sums."""
    columns = columns_of(by, files=True)
    blank: list[Cell] = [None] * (len(group_headings(by)) - len(columns) - 1)
    return [_("All"), *blank, *(getattr(season.total, column.key) for column in columns)]


def week_headings() -> list[Heading]:
    """Of the weeks."""
    return [
        Heading(_("Week"), width=26), Heading(_("Monday"), "date"), Heading(_("Becomes ready"), "number"),
        Heading(_("Species"), width=48), Heading(_("Ready by then"), "number"), Heading(_("Low (10 %)"), "number"),
        Heading(_("High (90 %)"), "number"), Heading(_("Asked for by then, not sent"), "number"),
    ]  # fmt: skip


def week_cells(weeks: Iterable[WeekRow]) -> Iterator[Sequence[Cell]]:
    """Rows of the weeks."""
    for row in weeks:
        yield [
            week_name(row), row.week.monday if row.when is When.WEEK else None, row.gain, species_text(row),
            row.by_then, row.low, row.high, row.asked,
        ]  # fmt: skip


def species_week_headings() -> list[Heading]:
    """Of the weeks by species."""
    return [
        Heading(_("Species"), width=28), Heading(_("Week"), width=26), Heading(_("Monday"), "date"),
        Heading(_("Becomes ready"), "number"), Heading(_("Ready by then"), "number"),
    ]  # fmt: skip


def species_week_cells(weeks: Sequence[WeekRow]) -> Iterator[Sequence[Cell]]:
    """Rows of the weeks by species."""
    for one in species_weeks(weeks):
        monday = one.row.week.monday if one.row.when is When.WEEK else None
        yield [one.species_name, week_name(one.row), monday, one.gain, one.by_then]


def week_name(row: WeekRow) -> str:
    """Which span of time a row is about."""
    match row.when:
        case When.WEEK:
            return row.week.span
        case When.BEFORE:
            return _("Before that")
        case When.AFTER:
            return _("After the planting window")
        case _:
            return _("No day known")


def species_text(row: WeekRow) -> str:
    """What becomes ready, species by species."""
    return ", ".join(
        _("%(species)s %(plants)s", species=name, plants=format_number(plants)) for name, plants in row.species
    )


def unsown_headings() -> list[Heading]:
    """Of what nothing grows for yet."""
    return [
        Heading(_("Planting site"), width=28), Heading(_("Species"), width=28),
        Heading(_("Planting from"), "date"), Heading(_("Planting until"), "date"),
        Heading(_("Asked for"), "number"), Heading(_("Sent out"), "number"),
        Heading(_("Set aside"), "number"), Heading(_("Still to sow"), "number"), Heading(_("Short"), "number"),
    ]  # fmt: skip


def unsown_cells(season: ReadySeason) -> Iterator[Sequence[Cell]]:
    """Rows of what nothing grows for yet."""
    for want in season.unsown:
        yield [
            want.site_name, want.species_name, want.opens_on, want.closes_on, want.wanted, want.sent, want.covered,
            want.to_sow, want.short,
        ]  # fmt: skip


def sheets(season: ReadySeason) -> list[Sheet]:
    """The workbook: one sheet a grouping with its sums, then the weeks, then what is not sown."""
    found = [
        Sheet(
            str(TITLES[by]),
            group_headings(by),
            [*group_cells(season.groups(by), by), total_cells(season, by)],
        )
        for by in By
    ]
    return [
        *found,
        Sheet(_("By week"), week_headings(), list(week_cells(season.weeks))),
        Sheet(_("By week and species"), species_week_headings(), list(species_week_cells(season.weeks))),
        Sheet(_("Not sown or short"), unsown_headings(), list(unsown_cells(season))),
    ]
