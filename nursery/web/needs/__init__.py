"""What to collect."""

from nursery.web.needs.pages import bp

__all__ = ["bp"]
