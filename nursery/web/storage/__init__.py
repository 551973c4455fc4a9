"""Storage places."""

from nursery.web.storage.pages import bp

__all__ = ["bp"]
