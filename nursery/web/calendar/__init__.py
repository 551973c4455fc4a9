"""The plan's calendar: chart, table and files."""

from nursery.web.calendar.routes import bp

__all__ = ["bp"]
