"""Plots of survival surveys, and counting in them."""

from nursery.web.plots.routes import bp

__all__ = ["bp"]
