"""What a lot's figures must agree on, whoever writes it down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Population, Trip
from nursery.models.lots import Material
from nursery.services import checking, limits

BOUNDS = {
    "pieces": limits.PIECES,
    "mother_plants": limits.MOTHER_PLANTS,
    "purity": limits.POSITIVE_FRACTION,
    "germination": limits.FRACTION,
    "tsw_g": limits.TSW_G,
    "moisture_pct": limits.MOISTURE_PCT,
    "ripening_year": limits.RIPENING_YEAR,
}


def refuse_lot(session: Session, values: Mapping[str, Any], today: dt.date) -> dict[str, str]:
    """Everything that is wrong with a lot's values, by column."""
    refused = checking.beyond(values, BOUNDS)
    refused |= _refuse_amount(values)
    refused |= _refuse_origin(session, values)
    if "ripening_year" not in refused:
        refused |= {name: text for name, text in refuse_dates(values, today).items() if name not in refused}
    return refused


def refuse_dates(values: Mapping[str, Any], today: dt.date) -> dict[str, str]:
    """Days out of order: ripening, collecting, testing, today."""
    collected_on = values["collected_on"]
    refused = limits.refuse_collection_date(collected_on, values["ripening_year"], today)
    if values.get("tested_on"):
        refused |= limits.refuse_test_date(values["tested_on"], collected_on, today)
    if values.get("stored_on"):
        refused |= _refuse_stored(values["stored_on"], collected_on, today)
    return refused


def _refuse_stored(stored_on: dt.date, collected_on: dt.date, today: dt.date) -> dict[str, str]:
    if stored_on > today:
        return {"stored_on": _("The day lies in the future. Write it down once the lot has been moved.")}
    if stored_on < collected_on:
        text = _("The lot was collected on %(day)s and cannot have been kept there before. Correct the day.")
        return {"stored_on": text % {"day": format_date(collected_on)}}
    return {}


def _refuse_amount(values: Mapping[str, Any]) -> dict[str, str]:
    milligrams, pieces = values.get("amount_mg"), values.get("pieces")
    if (milligrams is None) == (pieces is None):
        return {"amount_mg": _("Give the amount once: as a weight or as pieces.")}
    if (values.get("fruit_mg") or 0) < 0:
        return {"fruit_mg": _("Fruit cannot weigh less than nothing.")}
    if milligrams is not None and (wrong := limits.AMOUNT_G.refusal(milligrams / 1000)):
        return {"amount_mg": wrong}
    if values.get("material") == Material.CUTTINGS and pieces is None:
        return {"amount_mg": _("Cuttings are counted. Give the amount in pieces.")}
    return {}


def _refuse_origin(session: Session, values: Mapping[str, Any]) -> dict[str, str]:
    refused = {}
    population = session.get(Population, values["population_id"])
    if population is None:
        refused["population_id"] = _("There is no such population.")
    elif values["species_id"] != population.species_id:
        refused["species_id"] = _(
            "%(code)s is a population of %(species)s; a lot has the species of its population.",
            code=population.code,
            species=population.species.scientific_name,
        )
    trip = session.get(Trip, values["trip_id"]) if values.get("trip_id") else None
    if trip is not None and trip.collected_on != values["collected_on"]:
        refused["collected_on"] = _(
            "The trip %(code)s was on %(day)s. Leave the day empty to take it over, or name another trip.",
            code=trip.code,
            day=format_date(trip.collected_on),
        )
    return refused
