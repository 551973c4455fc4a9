"""The log of deviations."""

from nursery.web.deviations.pages import bp

__all__ = ["bp"]
