"""Walks round the benches: what was seen."""

from nursery.web.scoutings.routes import bp

__all__ = ["bp"]
