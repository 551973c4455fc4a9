"""The nursery's own defaults."""

from nursery.web.settings.pages import bp

__all__ = ["bp"]
