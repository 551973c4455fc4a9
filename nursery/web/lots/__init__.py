"""Lots."""

from nursery.web.lots.pages import bp

__all__ = ["bp"]
