"""A load and a lot whose papers can be drawn up."""

from __future__ import annotations

from tests.papers_world import world

__all__ = ["world"]
