"""Regions of provenance and river basins on the map."""

from nursery.web.zones import bringing, taking
from nursery.web.zones.pages import bp

__all__ = ["bp", "bringing", "taking"]
