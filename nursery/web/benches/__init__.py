"""Benches."""

from nursery.web.benches.pages import bp

__all__ = ["bp"]
