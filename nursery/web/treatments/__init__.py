"""Treatments: the log of plant protection."""

from nursery.web.treatments.routes import bp

__all__ = ["bp"]
