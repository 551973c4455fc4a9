"""Import of populations, sites, lots and targets from files."""

from nursery.web.imports.routes import bp

__all__ = ["bp"]
