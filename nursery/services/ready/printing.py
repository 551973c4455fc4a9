"""The season's stock as a PDF, from the same rows as page and workbook."""

from __future__ import annotations

from collections.abc import Sequence

from nursery.documents.pages import Head
from nursery.documents.ready import PrintedTable, ReadyPaper, ready_pdf
from nursery.i18n import current_locale, format_date, format_number
from nursery.i18n import gettext as _
from nursery.services.ready.query import LABELS, TITLES, By
from nursery.services.ready.rows import Numbers
from nursery.services.ready.season import Group, ReadySeason, unnamed
from nursery.services.ready.tables import columns_of, range_text, species_text, unsown_headings, week_name
from nursery.services.ready.words import balance_text, meanings
from nursery.services.seasons import season_name


def print_ready(season: ReadySeason) -> bytes:
    """Everything that was asked for, as a PDF."""
    total = season.total
    title = _("Ready for the season %(season)s", season=season_name(season.season))
    paper = ReadyPaper(
        title=title,
        lead=_("As counted, forecast and promised by %(day)s.", day=format_date(season.today)) + _narrowed(season),
        foot=f"{title} · {format_date(season.today)}",
        facts=[
            (_("How it stands"), balance_text(season)),
            *((str(column.label), _number(total, column.key)) for column in columns_of(By.SPECIES)),
            (_("Free and ready now"), format_number(total.free_now)),
            *([(_("In quarantine"), format_number(total.held))] if total.held else []),
            *([(_("Came back, not decided"), format_number(season.waiting))] if season.waiting else []),
        ],
        tables=[
            *(_groups(season, by) for by in By if by is not By.BATCH),
            *([_weeks(season)] if season.stock else []),
            *([_unsown(season)] if season.unsown else []),
            *([_batches(season)] if season.stock else []),
        ],
        notes=[f"{name}: {text}" for name, text in meanings()],
        notes_title=_("How the numbers are meant"),
    )  # fmt: skip
    return ready_pdf(paper, day=season.today, language=current_locale())


def _narrowed(season: ReadySeason) -> str:
    """What was left out, so that a sheet never passes for the whole."""
    chosen = {"species": season.query.species, "site": season.query.site, "nursery": season.query.nursery}
    named = [
        name for key, value in chosen.items() if value
        for choice, name in season.choices[key] if choice == str(value)
    ]  # fmt: skip
    return " " + _("Only %(what)s.", what=", ".join(named)) if named else ""


def _number(numbers: Numbers, key: str) -> str:
    text = format_number(getattr(numbers, key))
    spread = range_text(numbers) if key == "expected" else ""
    return f"{text} ({spread})" if spread else text


def _groups(season: ReadySeason, by: By) -> PrintedTable:
    columns, groups = columns_of(by), season.groups(by)
    return PrintedTable(
        title=str(TITLES[by]),
        heads=[
            Head(str(LABELS[by]), 2.6),
            *(Head(str(each.label), _width(each.key), "RIGHT") for each in columns),
        ],
        rows=[[group.name, *(_number(group.numbers, each.key) for each in columns)] for group in groups],
        total=[_("All"), *(_number(season.total, each.key) for each in columns)],
    )  # fmt: skip


def _width(key: str) -> float:
    return 2.0 if key == "expected" else 1.0


def _weeks(season: ReadySeason) -> PrintedTable:
    return PrintedTable(
        title=_("By week"),
        heads=[
            Head(_("Week"), 1.7), Head(_("Becomes ready"), 0.8, "RIGHT"), Head(_("Species"), 3.2),
            Head(_("Ready by then"), 1.5, "RIGHT"), Head(_("Asked for by then, not sent"), 1.1, "RIGHT"),
        ],
        rows=[
            [
                week_name(row), format_number(row.gain), species_text(row),
                format_number(row.by_then)
                + (
                    " " + _("(%(low)s to %(high)s)", low=format_number(row.low), high=format_number(row.high))
                    if row.low != row.high else ""
                ),
                format_number(row.asked),
            ]
            for row in season.weeks
        ],
    )  # fmt: skip


def _unsown(season: ReadySeason) -> PrintedTable:
    names = [heading.label for heading in unsown_headings()]
    return PrintedTable(
        title=_("Not sown yet, or short"),
        heads=[Head(name, 1.9 if at < 2 else 1.0, "LEFT" if at < 4 else "RIGHT") for at, name in enumerate(names)],
        rows=[
            [
                want.site_name, want.species_name, format_date(want.opens_on), format_date(want.closes_on),
                *(format_number(n) for n in (want.wanted, want.sent, want.covered, want.to_sow, want.short)),
            ]
            for want in season.unsown
        ],
    )  # fmt: skip


def _batches(season: ReadySeason) -> PrintedTable:
    groups = season.groups(By.BATCH)
    return PrintedTable(
        title=str(TITLES[By.BATCH]),
        heads=[
            Head(_("Batch"), 1.1), Head(_("Species, container, origin"), 3.2), Head(_("Size grade"), 0.9),
            Head(_("Planting site"), 1.5), Head(_("Ready now"), 0.8, "RIGHT"), Head(_("Forecast"), 1.4, "RIGHT"),
            Head(_("Allocated"), 0.9, "RIGHT"), Head(_("Free"), 0.7, "RIGHT"),
        ],
        rows=[_batch(group) for group in groups],
        total=[_("All"), "", "", "", *(_number(season.total, key) for key in _BATCH)],
    )  # fmt: skip


_BATCH = ("ready", "expected", "allocated", "free")


def _batch(group: Group) -> Sequence[str]:
    one = group.stock[0]
    told = ", ".join(part for part in (one.species_name, one.container_name, one.origin.label) if part)
    return [
        one.code, told, one.grade or unnamed(By.GRADE), one.site_name or unnamed(By.SITE),
        *(_number(group.numbers, key) for key in _BATCH),
    ]  # fmt: skip
