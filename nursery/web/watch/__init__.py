"""The seed watch."""

from nursery.web.watch.pages import bp

__all__ = ["bp"]
