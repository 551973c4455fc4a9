"""Loads: planned, picked, sent, taken over, and what came back."""

from nursery.web.dispatches import lines, moving, printing, returns
from nursery.web.dispatches.pages import bp

__all__ = ["bp", "lines", "moving", "printing", "returns"]
