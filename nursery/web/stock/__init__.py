"""Ready stock."""

from nursery.web.stock.pages import bp

__all__ = ["bp"]
