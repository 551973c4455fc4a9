"""Collecting permits."""

from nursery.web.permits import lines, tasks
from nursery.web.permits.pages import bp

__all__ = ["bp", "lines", "tasks"]
