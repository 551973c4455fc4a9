"""Stock for the planting season."""

from nursery.web.ready.pages import bp

__all__ = ["bp"]
