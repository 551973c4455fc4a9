"""Lots."""

from nursery.web.lots import mothers_routes, permit_routes, tests_routes
from nursery.web.lots.pages import bp

__all__ = ["bp", "mothers_routes", "permit_routes", "tests_routes"]
