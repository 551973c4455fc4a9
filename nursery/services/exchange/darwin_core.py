"""Trips, stands and lots as a Darwin Core Archive: events, and what was found and taken at them.

A trip is an event; each stand visited on it is an event within. At a visit the living stand was observed, and each
lot is a sample of material taken. Lots made from others are left out: their parts are told.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy.orm import Session

from nursery.catalog.reading import load_catalog
from nursery.i18n import current_locale
from nursery.i18n import gettext as _
from nursery.models import Lot, Population, Trip
from nursery.models.places import IndigenousStatus
from nursery.services.dossier.packing import LICENCES
from nursery.services.exchange.selecting import Selected, told_place
from nursery.services.exchange.taxa import split_name
from nursery.services.ledger.shares import lot_origins
from nursery.tabular.archives import Dataset, Terms, write_archive

EVENT_TERMS = (
    "eventID", "parentEventID", "eventDate", "year", "samplingProtocol", "habitat", "eventRemarks",
    "locationID", "countryCode", "locality", "waterBody", "decimalLatitude", "decimalLongitude", "geodeticDatum",
    "coordinateUncertaintyInMeters", "minimumElevationInMeters", "maximumElevationInMeters", "dataGeneralizations",
    "informationWithheld", "institutionCode", "license",
)  # fmt: skip
OCCURRENCE_TERMS = (
    "occurrenceID", "basisOfRecord", "materialSampleID", "catalogNumber", "recordedBy", "individualCount",
    "organismQuantity", "organismQuantityType", "establishmentMeans", "occurrenceStatus", "preparations",
    "associatedOccurrences", "occurrenceRemarks", "kingdom", "family", "genus", "specificEpithet",
    "infraspecificEpithet", "scientificName", "scientificNameAuthorship", "taxonRank",
)  # fmt: skip
_MEANS = {
    IndigenousStatus.AUTOCHTHONOUS: "native",
    IndigenousStatus.INDIGENOUS: "native",
    IndigenousStatus.NON_INDIGENOUS: "introduced",
    IndigenousStatus.UNKNOWN: "uncertain",
}
#: Data of biodiversity are in English, whoever asks.
_ROUNDED = "Coordinates rounded to 0.1 degree: sensitive place."
_WITHHELD = "Exact coordinates, name of the place and elevation are known to the institution."


def darwin_core(session: Session, selected: Selected) -> bytes:
    """The archive as a zip."""
    origins = lot_origins(session, selected.lots)
    lots = [lot for lot in selected.lots if [one.lot.id for one in origins[lot.id]] == [lot.id]]
    return write_archive(
        Terms("event.csv", "Event", "eventID", EVENT_TERMS, _events(lots, selected)),
        [Terms("occurrence.csv", "Occurrence", "eventID", OCCURRENCE_TERMS, _occurrences(lots, selected))],
        Dataset(
            _("Seed collections of %(organisation)s", organisation=selected.organisation or _("a nursery")),
            _(
                "Trips on which seed and cuttings of native plants were collected for planting, the wild stands"
                " visited, and the lots taken."
            ),
            selected.organisation or _("a nursery"),
            selected.wanted.day,
            current_locale(),
            LICENCES.get(selected.wanted.licence),
        ),
    )


def _visit(lot: Lot) -> str:
    """Key of the event at which a lot was taken: a stand on a trip, or the lot's own where no trip is known."""
    if lot.trip is None:
        return f"lot:{lot.code}"
    return f"trip:{lot.trip.code}:{lot.population.code}"


def _events(lots: Sequence[Lot], selected: Selected) -> list[dict[str, str]]:
    trips = {lot.trip.code: lot.trip for lot in lots if lot.trip is not None}
    visits = {_visit(lot): lot for lot in lots}
    return [
        *(_trip_event(trip, selected) for _code, trip in sorted(trips.items())),
        *(_visit_event(key, lot, selected) for key, lot in sorted(visits.items())),
    ]


def _trip_event(trip: Trip, selected: Selected) -> dict[str, str]:
    return {
        "eventID": f"trip:{trip.code}",
        "eventDate": trip.collected_on.isoformat(),
        "year": str(trip.collected_on.year),
        "samplingProtocol": "collecting trip",
        "eventRemarks": trip.weather,
        **_common(selected),
    }


def _visit_event(key: str, lot: Lot, selected: Selected) -> dict[str, str]:
    day = lot.trip.collected_on if lot.trip else lot.collected_on
    return {
        "eventID": key,
        "parentEventID": f"trip:{lot.trip.code}" if lot.trip else "",
        "eventDate": day.isoformat(),
        "year": str(day.year),
        "samplingProtocol": "seed or cuttings taken from mother plants",
        "habitat": "" if lot.population.is_sensitive else lot.habitat,
        **_location(lot.population, selected),
        **_common(selected),
    }


def _location(stand: Population, selected: Selected) -> dict[str, str]:
    told, hidden = told_place(stand), stand.is_sensitive
    height = "" if hidden or stand.elevation_m is None else f"{stand.elevation_m:.0f}"
    return {
        "locationID": f"population:{stand.code}",
        "countryCode": selected.country_of(stand),
        "locality": "" if hidden else stand.name,
        "waterBody": stand.basin,
        "decimalLatitude": str(round(told.latitude, 6)),
        "decimalLongitude": str(round(told.longitude, 6)),
        "geodeticDatum": "EPSG:4326",
        "coordinateUncertaintyInMeters": str(told.metres) if told.metres is not None else "",
        "minimumElevationInMeters": height,
        "maximumElevationInMeters": height,
        "dataGeneralizations": _ROUNDED if hidden else "",
        "informationWithheld": _WITHHELD if hidden else "",
    }


def _common(selected: Selected) -> dict[str, str]:
    _title, licence = LICENCES.get(selected.wanted.licence, ("", ""))
    return {"institutionCode": selected.wanted.institute or selected.organisation, "license": licence}


def _occurrences(lots: Sequence[Lot], selected: Selected) -> list[dict[str, str]]:
    visits: dict[str, Lot] = {}
    for lot in lots:
        visits.setdefault(_visit(lot), lot)
    stands = (_stand(key, lot, selected) for key, lot in sorted(visits.items()))
    return [*stands, *_samples(lots, selected)]


def _stand(key: str, lot: Lot, selected: Selected) -> dict[str, str]:
    stand = lot.population
    plants = "" if stand.fruiting_plants is None else str(stand.fruiting_plants)
    return {
        "eventID": key,
        "occurrenceID": f"{key}:stand",
        "basisOfRecord": "HumanObservation",
        "individualCount": plants,
        "establishmentMeans": _MEANS[stand.indigenous_status],
        "occurrenceStatus": "present",
        "occurrenceRemarks": "living stand; plants that fruit" if plants else "living stand",
        **_people(lot, selected),
        **_taxon(lot),
    }


def _samples(lots: Iterable[Lot], selected: Selected) -> Iterable[dict[str, str]]:
    for lot in lots:
        mothers = "" if lot.mother_plants is None else str(lot.mother_plants)
        yield {
            "eventID": _visit(lot),
            "occurrenceID": f"lot:{lot.code}",
            "basisOfRecord": "MaterialSample",
            "materialSampleID": lot.code,
            "catalogNumber": lot.code,
            "organismQuantity": mothers,
            "organismQuantityType": "mother plants sampled" if mothers else "",
            "establishmentMeans": _MEANS[lot.population.indigenous_status],
            "occurrenceStatus": "present",
            "preparations": lot.material.value,
            "associatedOccurrences": f"{_visit(lot)}:stand",
            **_people(lot, selected),
            **_taxon(lot),
        }


def _people(lot: Lot, selected: Selected) -> dict[str, str]:
    """Who collected; left out unless a person ticked that names may go along."""
    return {"recordedBy": lot.trip.people if lot.trip and selected.wanted.people else ""}


def _taxon(lot: Lot) -> dict[str, str]:
    species = lot.species
    taxon, entry = split_name(species.scientific_name), load_catalog().species.get(species.key)
    return {
        "kingdom": "Plantae",
        "family": entry.family if entry else "",
        "genus": taxon.genus,
        "specificEpithet": taxon.epithet,
        "infraspecificEpithet": taxon.below.split()[-1] if taxon.below else "",
        "scientificName": f"{species.scientific_name} {species.authorship}".strip(),
        "scientificNameAuthorship": species.authorship,
        "taxonRank": taxon.rank,
    }
