"""Climate normals of populations and sites: brought in by table, shown where they matter."""

from nursery.services.climates.listing import LISTING
from nursery.services.climates.previewing import ClimatePreview, look_at_climates
from nursery.services.climates.reading import Normals, normals_of
from nursery.services.climates.uploads import find_climate_file, keep_climate_file
from nursery.services.climates.writing import write_climates

__all__ = [
    "LISTING", "ClimatePreview", "Normals", "find_climate_file", "keep_climate_file", "look_at_climates",
    "normals_of", "write_climates",
]  # fmt: skip
