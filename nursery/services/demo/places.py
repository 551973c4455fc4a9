"""The demo's map: growing places, populations and planting sites of an invented basin."""

from __future__ import annotations

from random import Random
from typing import Any

from nursery.models import Container, Nursery, Population, Preferences, Site, Species, StoragePlace
from nursery.models.places import IndigenousStatus
from nursery.services.demo.tables import number, rows

#: How far populations of one place lie apart, in degrees.
_APART = 0.012


def nurseries(tables: dict[str, Any]) -> list[Nursery | Container]:
    """Growing places and their containers."""
    made: list[Nursery | Container] = []
    for table in tables["nurseries"]:
        values = dict(table)
        containers = values.pop("containers")
        nursery = Nursery(**values)
        made += [nursery, *(Container(nursery=nursery, **container) for container in containers)]
    return made


def storage_places(tables: dict[str, Any]) -> dict[str, tuple[StoragePlace, list[float] | None]]:
    """The storage place for each storage class, with the moisture seed is kept at there."""
    found: dict[str, tuple[StoragePlace, list[float] | None]] = {}
    for table in tables["storage_places"]:
        place = StoragePlace(name=table["name"], temperature_c=table["temperature_c"])
        for storage_class in table["classes"]:
            found[storage_class] = (place, table.get("moisture_pct"))
    return found


def set_preferences(preferences: Preferences, tables: dict[str, Any]) -> None:
    """The demo organisation's own defaults."""
    for name, value in tables["preferences"].items():
        setattr(preferences, name, value)


def populations(species: dict[str, Species]) -> dict[str, Population]:
    """Wild stands by code; those of one place lie a little apart."""
    places = {row["place"]: row for row in rows("places")}
    found: dict[str, Population] = {}
    for row in rows("populations"):
        place = places[row["place"]]
        chance = Random(f"demo population {row['code']}")  # noqa: S311 -- a place on an invented map
        found[row["code"]] = Population(
            code=row["code"],
            name=f"{place['name']}, {row['habitat']}",
            species=species[row["species"]],
            latitude=round(float(place["latitude"]) + chance.uniform(-_APART, _APART), 4),
            longitude=round(float(place["longitude"]) + chance.uniform(-_APART, _APART), 4),
            elevation_m=round(float(place["elevation_m"]) + chance.uniform(-25, 25)),
            basin=place["basin"],
            region_code=place["region_code"],
            indigenous_status=IndigenousStatus(row["indigenous_status"]),
            fruiting_plants=int(row["fruiting_plants"]),
            is_sensitive=row["sensitive"] == "yes",
        )
    return found


def sites() -> dict[str, Site]:
    """Planting sites by code."""
    return {
        row["code"]: Site(
            code=row["code"],
            name=row["name"],
            area_ha=number(row["area_ha"]),
            latitude=float(row["latitude"]),
            longitude=float(row["longitude"]),
            elevation_m=number(row["elevation_m"]),
            basin=row["basin"],
            region_code=row["region_code"],
            window_opens=row["window_opens"],
            window_closes=row["window_closes"],
        )
        for row in rows("sites")
    }
