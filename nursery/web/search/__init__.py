"""Search over all records."""

from nursery.web.search.pages import bp

__all__ = ["bp"]
