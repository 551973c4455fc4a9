"""Batches: list, page, sowing, counting, every act on plants, labels."""

from nursery.web.batches.routes import bp

__all__ = ["bp"]
