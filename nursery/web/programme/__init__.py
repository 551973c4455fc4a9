"""The collecting programme."""

from nursery.web.programme.pages import bp

__all__ = ["bp"]
