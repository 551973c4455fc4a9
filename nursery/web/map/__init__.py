"""The map of populations, sites, nurseries, zones and allocations."""

from nursery.web.map.pages import bp

__all__ = ["bp"]
