"""Container types."""

from nursery.web.containers.pages import bp

__all__ = ["bp"]
