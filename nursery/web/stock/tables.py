"""The forecast as tables: headings on screen, and rows for files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.seasons import season_name
from nursery.services.site_stock import SiteRow
from nursery.services.stock import Forecast, SeasonStock, StockQuery
from nursery.tabular.writer import Cell, Heading

#: Label, sort key and whether the column holds numbers.
_COLUMNS = (
    (_l("Species"), "species", False),
    (_l("Grown in"), "nursery", False),
    (_l("Forecast against need"), "", False),
    (_l("To plant"), "wanted", True),
    (_l("Ready plants needed"), "needed", True),
    (_l("Expected ready"), "expected", True),
    (_l("Short of seed for"), "short", True),
    (_l("Chance that all are met"), "chance", True),
    (_l("Ready"), "ready", False),
)


def columns(query: StockQuery, url: Callable[[str], str]) -> list[dict[str, Any]]:
    """Headings of the page; ``url`` gives the address that sorts by a key."""
    shown = [column for column in _COLUMNS if column[1] != "nursery" or query.by != "species"]
    return [
        {"label": str(label), "numeric": numeric, **(_sorting(query, key, url) if key else {})}
        for label, key, numeric in shown
    ]


def _sorting(query: StockQuery, key: str, url: Callable[[str], str]) -> dict[str, str]:
    turned = f"-{key}"
    found = {"url": url(turned if query.sort == key else key)}
    if query.sort in {key, turned}:
        found["sorted"] = "descending" if query.sort == turned else "ascending"
    return found


def headings() -> list[Heading]:
    """Of the file of the forecast."""
    return [
        Heading(_("Season")), Heading(_("Species"), width=28), Heading(_("Nursery"), width=28),
        Heading(_("Container"), width=28), Heading(_("Ready from"), "date"), Heading(_("Ready until"), "date"),
        *_forecast_headings(), Heading(_("Chance that all are met"), "percent"),
    ]  # fmt: skip


def cells(seasons: Iterable[SeasonStock]) -> Iterator[Sequence[Cell]]:
    """Rows of the file of the forecast."""
    for season in seasons:
        for row in season.rows:
            yield [
                season_name(row.season), row.species_name, row.nursery_name, row.container_name, row.ready_from,
                row.ready_until, *_forecast_cells(row.forecast), row.chance,
            ]  # fmt: skip


def site_headings() -> list[Heading]:
    """Of the file of the sites."""
    return [
        Heading(_("Season")), Heading(_("Planting site"), width=28), Heading(_("Species"), "number"),
        *_forecast_headings(),
    ]  # fmt: skip


def site_cells(rows: Iterable[SiteRow]) -> Iterator[Sequence[Cell]]:
    """Rows of the file of the sites."""
    for row in rows:
        yield [season_name(row.season), row.site_name, row.species, *_forecast_cells(row.forecast)]


def _forecast_headings() -> list[Heading]:
    return [
        Heading(_("Plan lines"), "number"), Heading(_("Plants to plant"), "number"),
        Heading(_("Ready plants needed"), "number"), Heading(_("Ready plants expected"), "number", digits=1),
        Heading(_("Low (10 %)"), "number", digits=1), Heading(_("High (90 %)"), "number", digits=1),
        Heading(_("Plants short, seed still to collect"), "number"),
        Heading(_("Plants short, no longer possible"), "number"),
        Heading(_("Plants expected to arrive"), "number", digits=1), Heading(_("Share met"), "percent"),
    ]  # fmt: skip


def _forecast_cells(forecast: Forecast) -> list[Cell]:
    return [
        forecast.lines, forecast.plants_to_plant, forecast.ready_plants, forecast.expected, forecast.low,
        forecast.high, forecast.to_collect, forecast.lost, forecast.arriving, forecast.met,
    ]  # fmt: skip
