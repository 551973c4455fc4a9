"""Where the numbers of the forecast come from, as arguments of the ``explained`` macro."""

from __future__ import annotations

from typing import Any

from nursery.i18n import format_number, format_percent
from nursery.i18n import gettext as _
from nursery.services.stock import Forecast

Explanation = dict[str, Any]


def expected(forecast: Forecast, *, one_species: bool) -> Explanation:
    """Ready plants expected, with their range."""
    return {
        "title": _("Ready plants expected"),
        "inputs": [
            (_("Plan lines"), format_number(forecast.lines)),
            (_("10 % chance of fewer than"), format_number(forecast.low)),
            (_("10 % chance of more than"), format_number(forecast.high)),
            (_("Ready plants needed"), format_number(forecast.ready_plants)),
        ],
        "formula": _(
            "The plan lines' expected numbers, added up; seed still to be collected in time is counted in."
        ),
        "source": range_method(one_species=one_species),
    }


def range_method(*, one_species: bool) -> str:
    """How the range of a sum was reckoned."""
    if one_species:
        return _(
            "Range: the lines of one species share its rates, so they do well or badly together and their ranges"
            " are added. This is the cautious way; where batches differ by chance the true range is narrower."
        )
    return _(
        "Range: species do well or badly independently, so their distances from the expected number are added as"
        " squares. Adding the ranges themselves would make it far too wide."
    )


def needed(forecast: Forecast) -> Explanation:
    """Ready plants needed in the nursery."""
    return {
        "title": _("Ready plants needed"),
        "inputs": [
            (_("Plants to plant"), format_number(forecast.plants_to_plant)),
            (_("Ready plants needed"), format_number(forecast.ready_plants)),
        ],
        "formula": _("Plants to plant ÷ (1 − handling loss), rounded up in each plan line, added up."),
        "source": _("From the plan."),
    }


def short(forecast: Forecast) -> Explanation:
    """Plants that the seed in hand cannot give."""
    return {
        "title": _("Plants that the seed in hand cannot give"),
        "inputs": [
            (_("Seed can still be collected in time"), format_number(forecast.to_collect)),
            (_("No longer possible in this season"), format_number(forecast.lost)),
        ],
        "formula": _("The shortfalls of the plan lines, added up; a line that is too late counts whole."),
        "source": _("From the plan."),
    }


def chance(forecast: Forecast, value: float) -> Explanation:
    """The chance that every line of a species gets what it asks."""
    return {
        "title": _("Chance that all plan lines are met"),
        "inputs": [
            (_("Plan lines"), format_number(forecast.lines)),
            (_("Least chance among them"), format_percent(value)),
        ],
        "formula": _("The least of the lines' chances."),
        "source": _(
            "Lines of one species share its rates: where the least certain line is met, the others are. Where seed"
            " is still to be collected, the chance holds once it is collected."
        ),
    }


def arriving(forecast: Forecast) -> Explanation:
    """Plants that a site may expect."""
    return {
        "title": _("Plants expected to arrive"),
        "inputs": [
            (_("Plants to plant"), format_number(forecast.plants_to_plant)),
            (_("Ready plants needed"), format_number(forecast.ready_plants)),
            (_("Ready plants expected"), format_number(forecast.expected)),
        ],
        "formula": _(
            "For each plan line: plants to plant × expected ÷ needed, never more than it asks for; then added up."
        ),
        "source": _("One species' surplus does not make up for another's lack."),
    }
