"""The yearly declaration."""

from nursery.web.declaration.routes import bp

__all__ = ["bp"]
