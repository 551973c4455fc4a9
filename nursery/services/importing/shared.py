"""Columns that several kinds of file have."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.services import limits
from nursery.services.coordinates import refuse_outside
from nursery.services.importing.columns import Column, Shape
from nursery.services.importing.rows import Row

SPECIES = Column(
    key="species",
    heading="Species",
    label=_l("Species"),
    shape=Shape.SPECIES,
    help=_l("Scientific name, synonym or common name, as the species pages have it."),
    example="Quercus ilex",
    also=(
        "scientific name", "taxon", "taxa", "species name", "espécie", "espécies", "nome científico", "táxon",
        "especie", "nombre científico", "taxón",
    ),
    required=True,
)  # fmt: skip

LATITUDE = Column(
    key="latitude",
    heading="Latitude",
    label=_l("Latitude"),
    shape=Shape.LATITUDE,
    help=_l("Degrees north of the equator (WGS 84), south negative: 38.1234, 38,1234 or 38° 7' 24\" N."),
    example="38.1234",
    also=("lat", "latitude wgs84", "latitud", "lat wgs84", "y", "latitude n"),
    required=True,
)

LONGITUDE = Column(
    key="longitude",
    heading="Longitude",
    label=_l("Longitude"),
    shape=Shape.LONGITUDE,
    help=_l("Degrees east of Greenwich (WGS 84), west negative: -7.5678."),
    example="-7.5678",
    also=("lon", "long", "lng", "longitude wgs84", "longitud", "lon wgs84", "x", "longitude e"),
    required=True,
)

ELEVATION = Column(
    key="elevation_m",
    heading="Elevation (m)",
    label=_l("Elevation (m)"),
    shape=Shape.NUMBER,
    help=_l("Metres above sea level."),
    example="240",
    also=("elevation", "altitude", "alt", "height above sea level", "elevação", "cota", "altitud", "elevación"),
    bounds=limits.ELEVATION_M,
)

BASIN = Column(
    key="basin",
    heading="Basin",
    label=_l("Basin"),
    shape=Shape.TEXT,
    help=_l("River basin, by the name you always use for it."),
    example="Example basin",
    also=("river basin", "catchment", "watershed", "bacia", "bacia hidrográfica", "cuenca", "cuenca hidrográfica"),
    max_length=80,
)

REGION = Column(
    key="region_code",
    heading="Region of provenance",
    label=_l("Region of provenance"),
    shape=Shape.TEXT,
    help=_l("Code of the region of provenance (seed zone), as the authority writes it."),
    example="",
    also=(
        "region", "region code", "provenance region", "seed zone", "região de proveniência", "região",
        "código da região", "región de procedencia", "región", "código de región", "zona de semilla",
    ),
    max_length=24,
)  # fmt: skip

NOTES = Column(
    key="notes",
    heading="Notes",
    label=_l("Notes"),
    shape=Shape.TEXT,
    help=_l("Anything else worth keeping."),
    also=("note", "remarks", "comments", "comment", "notas", "observações", "obs", "observaciones", "comentarios"),
    max_length=4000,
)


def refuse_point(row: Row) -> dict[str, str]:
    """A point off the globe, or far from all others where the swapped one would be near."""
    if "latitude" not in row.given and "longitude" not in row.given:
        return {}
    point = row.merged
    latitude, longitude = point.get("latitude"), point.get("longitude")
    if latitude is None or longitude is None:
        return {}
    before = row.existing or {}
    return refuse_outside(
        row.book.area, latitude, longitude, was=(before.get("latitude"), before.get("longitude"))
    )
