"""The movement book."""

from nursery.web.movement_book.routes import bp

__all__ = ["bp"]
