"""Costs of plants."""

from nursery.web.costs.routes import bp

__all__ = ["bp"]
