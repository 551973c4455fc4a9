"""Planting targets."""

from nursery.web.targets.pages import bp

__all__ = ["bp"]
