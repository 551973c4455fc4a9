"""Collection trips."""

from nursery.web.trips.pages import bp

__all__ = ["bp"]
