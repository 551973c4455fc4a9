"""People who work here."""

from nursery.web.people.pages import bp

__all__ = ["bp"]
