"""The parts of a report in their order: a sentence or two, the chart, and the tables with the same numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.documents.report_parts import ReportTable, Section
from nursery.i18n import current_locale
from nursery.i18n import gettext as _
from nursery.services.season_report import pictures
from nursery.services.season_report.cells import shown_table


def sections_of(figures: Mapping[str, Any]) -> list[Section]:
    """All of them; a part without rows says so, so that nothing seems forgotten."""
    return [
        one(figures) for one in (_plants, _survival, _origins, _seed, _nursery, _costs, _work, _stories, _rules)
    ]


def _plants(figures: Mapping[str, Any]) -> Section:
    none = _("No target and no planting of this season is on record.")
    return Section(
        "plants",
        _("From the targets to the ground"),
        [],
        pictures.planted(figures),
        [
            shown_table("plants_by_species", figures, title=_("Plants by species"), empty=none),
            shown_table("plants_by_site", figures, title=_("Plants by site"), empty=none),
        ],
    )


def _survival(figures: Mapping[str, Any]) -> Section:
    none = _("No survey of this season's plantings is on record, so nothing is said of survival.")
    causes = shown_table("death_causes", figures, title=_("Why plants died, in the plots of this season"))
    return Section(
        "survival",
        _("Survival"),
        [],
        pictures.survival(figures),
        [
            shown_table(
                "survival", figures, title=_("Survival by species and site"), empty=none,
                lead=_("Plants in marked plots, with the 95 percent Wilson interval. Replacements stand apart."),
            ),
            *([causes] if causes.rows else []),
        ],
    )  # fmt: skip


def _origins(figures: Mapping[str, Any]) -> Section:
    none = _("Nothing was planted in this season, so no origin is told.")
    return Section(
        "origins",
        _("Where the plants come from"),
        [],
        pictures.origins(figures),
        [
            shown_table(
                "origins", figures, title=_("Origins by site and species"), empty=none,
                lead=_("Where bags of mothers were pooled, nobody knows their shares: the effective number is left"
                       " open, and is at most that of the mothers sampled."),
            ),
            *_if_any(shown_table("sources", figures, title=_("Stands behind each site"))),
        ],
    )  # fmt: skip


def _seed(figures: Mapping[str, Any]) -> Section:
    none = _("No seed was collected in the days of this season.")
    return Section(
        "seed",
        _("Seed collected"),
        [],
        [],
        [
            shown_table("seed_by_species", figures, title=_("Seed by species"), empty=none),
            *_if_any(shown_table("seed_lots", figures, title=_("Seed lot by lot"))),
        ],
    )


def _nursery(figures: Mapping[str, Any]) -> Section:
    return Section(
        "nursery",
        _("In the nursery"),
        [],
        pictures.losses(figures),
        [
            shown_table(
                "losses", figures, title=_("Plants lost by stage and cause"),
                empty=_("No loss of plants is on record."),
            ),
            *_if_any(shown_table("losses_by_species", figures, title=_("Plants lost by species"))),
            shown_table(
                "yields", figures, title=_("What the nursery made of its seed"),
                empty=_("No batch grew for this season."),
            ),
        ],
    )  # fmt: skip


def _costs(figures: Mapping[str, Any]) -> Section:
    none = _("Nothing was spent on plants of this season, or nothing was written down.")
    included = _(
        "In the costs: paid hours as logged, seed, trays, substrate, other supplies, expenses, and overhead as a"
        " share of all these. Hours given are valued beside them."
    )
    return Section(
        "costs",
        _("Costs and money"),
        [included, *figures["notes"][current_locale()]],
        pictures.costs(figures),
        [
            shown_table("costs_by_species", figures, title=_("Costs by species"), empty=none),
            *_if_any(
                shown_table("cost_parts", figures, title=_("What the costs are made of")),
                shown_table("costs_by_site", figures, title=_("Costs by site")),
                shown_table("costs_by_funder", figures, title=_("Costs by funder")),
                shown_table("expenses", figures, title=_("Expenses in the days of the season")),
                shown_table("supplies", figures, title=_("Supplies in the days of the season")),
            ),
        ],
    )


def _work(figures: Mapping[str, Any]) -> Section:
    return Section(
        "work",
        _("Hours and people"),
        [],
        pictures.hours(figures),
        [
            shown_table(
                "hours", figures, title=_("Hours by kind of work"),
                empty=_("No hours were logged in the days of this season."),
            ),
            shown_table(
                "planting_days", figures, title=_("Planting days"),
                empty=_("No planting of this season is on record."),
            ),
        ],
    )  # fmt: skip


def _stories(figures: Mapping[str, Any]) -> Section:
    return Section(
        "deviations",
        _("What went otherwise than planned"),
        [],
        [],
        [
            shown_table(
                "deviations", figures, title=_("Deviations and what was done"),
                empty=_("No deviation was written down for this season."),
            )
        ],
    )  # fmt: skip


def _rules(figures: Mapping[str, Any]) -> Section:
    return Section(
        "overrides",
        _("Decisions against the rules"),
        [
            _("Every override that stood in this season or let plants of it through, with who decided, why and"
              " when.")
        ],
        [],
        [
            shown_table(
                "overrides", figures, title=_("Overrides"),
                empty=_("Nobody overrode a rule for this season."),
            )
        ],
    )  # fmt: skip


def _if_any(*tables: ReportTable) -> list[ReportTable]:
    return [one for one in tables if one.rows]
