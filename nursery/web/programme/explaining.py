"""Where the numbers of the programme come from, as arguments of the ``explained`` macro."""

from __future__ import annotations

from typing import Any

from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.planning.collecting import MAX_SHARE
from nursery.services.programme.picks import NeedPlan, Pick
from nursery.services.programme.reading import Programme
from nursery.services.programme.trips import MOST_PICKS, NEAR, OutlinedTrip

Explanation = dict[str, Any]


def hours(trips: int, lots: int, programme: Programme) -> Explanation:
    """Hours of one or all trips."""
    effort = programme.effort
    return {
        "title": _("Hours of all people together"),
        "inputs": [
            (_("Trips"), format_number(trips)),
            (_("Lots to collect"), format_number(lots)),
            (_("Hours for a lot"), format_number(effort.hours_per_lot, 1), _rests_on(effort.hours_from)),
        ],
        "formula": _("Lots to collect × hours for a lot."),
    }


def km(trips: int, programme: Programme) -> Explanation:
    """Kilometres of one or all trips."""
    effort = programme.effort
    return {
        "title": _("Kilometres"),
        "inputs": [
            (_("Trips"), format_number(trips)),
            (_("Kilometres of a trip"), format_number(effort.km_per_trip), _rests_on(effort.km_from)),
        ],
        "formula": _("Trips × kilometres of a trip."),
    }


def _rests_on(trips: int) -> str:
    if not trips:
        return _("common practice, no source; no trip of your own tells it yet")
    return ngettext("median of %(num)s trip of your own", "median of %(num)s trips of your own", trips)


def week(trip: OutlinedTrip) -> Explanation:
    """Why a trip is drawn as it is."""
    first = trip.picks[0]
    return {
        "title": _("Why this week and these places"),
        "inputs": [
            (_("Drawn around"), f"{first.stand.code} · {first.sheet.need.species_name}"),
            (_("How far the others lie, at most"), _("%(km)s km", km=format_number(NEAR / 1000))),
            (_("Lots of one trip, at most"), format_number(MOST_PICKS)),
        ],
        "formula": _(
            "The season that closes first is taken, with all others of the same basin that lie near. Of its"
            " weeks, but for the last, the one is chosen in which most of them can be collected; of equals the"
            " latest, for what can wait ripens. A trip stays in one basin, so that nothing is carried from"
            " river to river."
        ),
        "source": _("Planning default, no source."),
    }


def populations(need: NeedPlan) -> Explanation:
    """How many populations a need takes."""
    sheet = need.sheet
    known = measured(sheet.most, sheet.is_cuttings) if sheet.most is not None else _("not counted")
    return {
        "title": _("Populations %(where)s", where=sheet.where),
        "inputs": [
            (_("Needed"), measured(sheet.wanted, sheet.is_cuttings)),
            (
                _("All known ones may still give"),
                known,
                _("%(share)s of the crop", share=format_percent(MAX_SHARE)),
            ),
            (_("Taken this season already"), measured(sum(s.taken for s in sheet.stands.here), sheet.is_cuttings)),
            (_("Mother plants needed"), format_number(sheet.need.mothers)),
            (_("Fruiting plants known"), format_number(sheet.fruiting)),
            (_("Still to be found"), format_number(need.to_find)),
        ],
        "formula": _(
            "The fewest known ones that give the amount and the mothers, and those still to be found. What lots of"
            " this season took is no longer offered."
        ),
        "source": _(
            "Fruiting plants × crop of one plant × 20 %: US Seeds of Success technical protocol §9. At least 30"
            " mothers: NordGen quality-assurance appendix, TemaNord 2025:515."
        ),
    }


def amount(pick: Pick) -> str:
    """What a population gives, with its unit."""
    return quantity(pick.amount, pick)


def quantity(value: float, pick: Pick) -> str:
    """Kilograms or grams of fruit, or cuttings."""
    return measured(value, pick.sheet.is_cuttings)


def measured(value: float, is_cuttings: bool) -> str:
    """The same, whatever it is of."""
    if is_cuttings:
        return ngettext("%(num)s cutting", "%(num)s cuttings", round(value))
    if value < 1:
        return _("%(grams)s g of fruit", grams=format_number(value * 1000, 0 if value >= 0.1 else 1))
    return _("%(kilograms)s kg of fruit", kilograms=format_number(value, 2))
