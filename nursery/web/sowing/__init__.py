"""The weekly sowing list, on screen, on paper and as a file."""

from nursery.web.sowing.routes import bp

__all__ = ["bp"]
