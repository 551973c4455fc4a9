"""Trace."""

from nursery.web.trace import flows
from nursery.web.trace.pages import bp

__all__ = ["bp", "flows"]
