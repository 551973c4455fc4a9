"""A report in one language, made of its figures alone: what page, PDF and workbook are drawn from."""

from __future__ import annotations

import base64
import datetime as dt
from collections.abc import Mapping
from typing import Any

from nursery.documents.report_parts import (
    Definition,
    DocumentWords,
    Fact,
    SeasonDocument,
)
from nursery.i18n import current_locale, format_date, format_percent, format_span, locale_of
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.season_report.cells import shown_cell
from nursery.services.season_report.columns import Column
from nursery.services.season_report.figures import digest_of
from nursery.services.season_report.sections import sections_of
from nursery.services.seasons import season_name

#: Numbers at the head, in their order.
FACTS: dict[str, Column] = {
    "planted": Column(_l("Plants planted")),
    "wanted": Column(_l("Plants wanted")),
    "reached": Column(_l("Reached"), "percent"),
    "survival": Column(_l("Survival at the latest survey"), "percent"),
    "species": Column(_l("Species planted")),
    "sites": Column(_l("Sites planted")),
    "area_ha": Column(_l("Ground planted, ha"), digits=2),
    "grown": Column(_l("Plants grown")),
    "sent": Column(_l("Plants sent")),
    "replaced": Column(_l("Replacements planted")),
    "local": Column(_l("From the region of their site"), "percent"),
    "documented": Column(_l("Under a permit or a supplier's document"), "percent"),
    "lots": Column(_l("Seed lots collected")),
    "grams": Column(_l("Clean seed collected, g"), digits=1),
    "mothers": Column(_l("Mother plants, by lot")),
    "costs": Column(_l("Costs of the season's plants"), "money", 2),
    "each_grown": Column(_l("Cost of a plant grown"), "money", 3),
    "each_planted": Column(_l("Cost of a plant planted"), "money", 3),
    "each_surviving": Column(_l("Cost of a plant surviving"), "money", 3),
    "hours_paid": Column(_l("Hours paid"), digits=2),
    "hours_given": Column(_l("Hours given"), digits=2),
    "planting_hours": Column(_l("Hours of planting, all together"), digits=2),
}


def show(figures: Mapping[str, Any], *, language: str) -> SeasonDocument:
    """The report in a language, whichever it was made in."""
    with locale_of(language):
        season, as_of = season_name(figures["season"]), dt.date.fromisoformat(figures["as_of"])
        span = format_span(dt.date.fromisoformat(figures["first"]), dt.date.fromisoformat(figures["last"]))
        return SeasonDocument(
            title=_("Report on season %(season)s", season=season),
            organisation=figures["organisation"],
            span=span,
            made=_("As known on %(day)s", day=format_date(as_of)),
            language=current_locale(),
            day=as_of,
            colour=figures["colour"],
            logo=base64.b64decode(figures.get("logo") or ""),
            opening=_paragraphs(figures["opening"]),
            closing=_paragraphs(figures["closing"]),
            facts=_facts(figures),
            sections=sections_of(figures),
            definitions=[Definition(*one) for one in figures["definitions"][current_locale()]],
            digest=digest_of(figures),
            words=_words(),
        )


def _paragraphs(text: str) -> list[str]:
    return [part for part in (" ".join(lines.split()) for lines in text.split("\n\n")) if part]


def _facts(figures: Mapping[str, Any]) -> list[Fact]:
    values, currency = figures["facts"], figures["currency"]
    return [
        Fact(key, str(one.label), shown_cell(key, one, values[key], currency), one.kind, one.digits,
             _note(key, values))
        for key, one in FACTS.items()
        if key in values  # a report that was kept before a number was thought of tells the others
    ]  # fmt: skip


def _note(key: str, values: Mapping[str, Any]) -> str:
    if key in {"survival", "each_surviving"} and values[key] is None:
        return _("nobody looked yet")
    if key == "survival" and values["survival"] is not None:
        return _(
            "95 percent interval: %(low)s to %(high)s",
            low=format_percent(values["survival_low"]),
            high=format_percent(values["survival_high"]),
        )
    if key == "local" and values["local"] is not None and values["local_known"] < 1:
        return _("known of %(share)s of the plants", share=format_percent(values["local_known"]))
    return ""


def _words() -> DocumentWords:
    return DocumentWords(
        in_short=_("The season in short"),
        notes=_("What each number means"),
        term=_("Number"),
        formula=_("How it is reckoned"),
        source=_("Source"),
        contents=_("Contents"),
        number=_("Number"),
        value=_("Value"),
        digest=_("Digest of the figures (SHA-256)"),
        agreement=_(
            "Page, PDF and workbook are made of the same stored figures. Before the report was kept, all three"
            " were read back and held against them."
        ),
    )
