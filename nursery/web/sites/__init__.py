"""Planting sites."""

from nursery.web.sites.pages import bp

__all__ = ["bp"]
