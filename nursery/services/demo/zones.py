"""The demo's own zones: invented regions and basins around its invented places.

One population lies, by the map, in another region than the record says; two sites have no region on record.
"""

from __future__ import annotations

from collections.abc import Mapping

from nursery.models import Species
from nursery.models.zones import Zone, ZoneKind
from nursery.services.demo.tables import FOLDER
from nursery.services.outlines import as_geometry, features_of, read_json, read_parts

_SOURCE = "Invented for the demo; no authority's outline."
_JURISDICTION = "Demo"


def zones(species: Mapping[str, Species]) -> list[Zone]:
    """Basins, general regions, and those of one species."""
    text = (FOLDER / "zones.geojson").read_text(encoding="utf-8")
    return [
        Zone(
            kind=ZoneKind(feature.properties["layer"]),
            jurisdiction=_JURISDICTION,
            code=feature.properties["code"],
            name=feature.properties["name"],
            species=species[name] if (name := feature.properties["species"]) else None,
            geometry=as_geometry(read_parts(feature.geometry)),
            lowest_m=feature.properties["lowest_m"],
            highest_m=feature.properties["highest_m"],
            source=_SOURCE,
        )
        for feature in features_of(read_json(text))
    ]
