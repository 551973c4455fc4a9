"""Regions of provenance and river basins on the map: brought in as published, and asked about every place."""

from nursery.services.zones.atlas import MapZone, zones_on_map
from nursery.services.zones.changing import change_zone, restore_zone
from nursery.services.zones.filling import codes_from_map, fill_from_map
from nursery.services.zones.listing import LISTING
from nursery.services.zones.looking import ZoneLook, look_at_file
from nursery.services.zones.placing import Found, Placement, Standing, own_regions, place_records, place_rows
from nursery.services.zones.settings import ZoneSettings, settle
from nursery.services.zones.taking_over import take_over
from nursery.services.zones.uploads import find_zone_file, keep_zone_file
from nursery.services.zones.words import KIND_LABELS, said, tone
from nursery.services.zones.writing import write_zones

__all__ = [
    "KIND_LABELS", "LISTING", "Found", "MapZone", "Placement", "Standing", "ZoneLook", "ZoneSettings",
    "change_zone", "codes_from_map", "fill_from_map", "find_zone_file", "keep_zone_file", "look_at_file",
    "own_regions", "place_records", "place_rows", "restore_zone", "said", "settle", "take_over", "tone",
    "write_zones", "zones_on_map",
]  # fmt: skip
