"""Populations."""

from nursery.web.populations.pages import bp

__all__ = ["bp"]
