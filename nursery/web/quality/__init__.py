"""Looks at the quality of a batch."""

from nursery.web.quality.routes import bp

__all__ = ["bp"]
