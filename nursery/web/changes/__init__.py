"""The record of changes."""

from nursery.web.changes.pages import bp

__all__ = ["bp"]
