"""The way around, following the plant. Each section lists its pages; a page not built is not listed."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TypedDict

from flask import current_app, request, url_for

from nursery.i18n import current_locale
from nursery.i18n import gettext as _
from nursery.web.access import acting, may
from nursery.web.once import once


class Child(TypedDict):
    """A page of a section."""

    label: str
    url: str


class Section(TypedDict):
    """A stage of the plant's life."""

    section: str
    label: str
    url: str
    children: list[Child]


def navigation() -> list[Section]:
    """Sections in the order in which a plant lives them, with the pages that this person may see."""
    return once(("navigation", seen_by()), _sections)


def seen_by() -> tuple[Hashable, ...]:
    """All that the way around depends on: the language, the person's rights, and where the application hangs."""
    who = acting()
    return current_locale(), who.rights if who else None, request.script_root


def _sections() -> list[Section]:
    sections = [
        _section("season", _("Season"), ("season.home", _("At a glance"))),
        _section(
            "collect",
            _("Collect"),
            ("needs.list_page", _("What to collect")),
            ("programme.list_page", _("Collecting programme")),
            ("trips.list_page", _("Trips")),
            ("populations.list_page", _("Populations")),
            ("permits.list_page", _("Permits")),
        ),
        _section(
            "seed",
            _("Seed"),
            ("lots.list_page", _("Lots")),
            ("watch.list_page", _("Retests and sow-by")),
            ("storage.list_page", _("Storage places")),
        ),
        _section(
            "plan",
            _("Plan"),
            ("targets.list_page", _("Targets")),
            ("plans.list_page", _("Plans")),
            ("plans.current", _("Plan lines")),
            ("origin.page", _("Origin")),
        ),
        _section(
            "grow",
            _("Grow"),
            ("work.page", _("Today’s work")),
            ("batches.list_page", _("Batches")),
            ("forecast.page", _("Forecast")),
            ("sowing.list_page", _("Sowing list")),
            ("calendar.page", _("Calendar")),
            ("space.page", _("Bench room")),
            ("supplies.list_page", _("Supplies")),
            ("hours.page", _("Hours and costs")),
            ("health.home", _("Health")),
            ("people.list_page", _("People")),
            ("containers.list_page", _("Containers")),
            ("nurseries.list_page", _("Nurseries")),
        ),
        _section(
            "plant",
            _("Plant"),
            ("ready.page", _("Ready for the season")),
            ("stock.page", _("What the plan will give")),
            ("dispatches.list_page", _("Loads")),
            ("sites.list_page", _("Planting sites")),
            ("plantings.list_page", _("Plantings")),
            ("surveys.list_page", _("Survival surveys")),
            ("recipients.list_page", _("Recipients")),
            ("trace.page", _("Trace")),
        ),
        _section(
            "report",
            _("Report"),
            ("season_reports.list_page", _("Season reports")),
            ("next_year.page", _("Next year")),
            ("papers.list_page", _("Papers")),
            ("movement_book.page", _("Movement book")),
            ("declaration.page", _("Yearly declaration")),
            ("dossiers.page", _("Dossiers")),
            ("deviations.list_page", _("Deviations")),
        ),
        _section(
            "map",
            _("Map"),
            ("map.page", _("Map")),
            ("zones.list_page", _("Regions and basins")),
            ("climates.list_page", _("Climate normals")),
        ),
        _section("species", _("Species"), ("species.list_page", _("Species"))),
        _section("calculators", _("Calculators"), ("calculators.index", _("Calculators"))),
        _section("import", _("Import"), ("imports.index", _("Import"))),
        _section(
            "settings",
            _("Settings"),
            ("settings.page", _("Settings")),
            ("accounts.list_page", _("Accounts")),
            ("changes.list_page", _("Record of changes")),
        ),
    ]
    return [section for section in sections if section is not None]


def _section(key: str, label: str, *pages: tuple[str, str]) -> Section | None:
    children: list[Child] = [
        {"label": text, "url": url_for(endpoint)}
        for endpoint, text in pages
        if endpoint in current_app.view_functions and may(endpoint)
    ]
    if not children:
        return None
    return {
        "section": key,
        "label": label,
        "url": children[0]["url"],
        "children": children if len(children) > 1 else [],
    }
