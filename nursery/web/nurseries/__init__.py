"""Nurseries."""

from nursery.web.nurseries.pages import bp

__all__ = ["bp"]
