"""The season at a glance."""

from nursery.web.season.routes import bp

__all__ = ["bp"]
