"""Plantings."""

from nursery.web.plantings.pages import bp

__all__ = ["bp"]
