"""Calculators: a list, and a page for each with its form and its result."""

from nursery.web.calculators.routes import bp

__all__ = ["bp"]
