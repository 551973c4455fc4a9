"""Import of populations, sites, lots, targets and plantings from files."""

from nursery.web.imports.routes import bp

__all__ = ["bp"]
