"""The load and the lot of the services' tests, for pages."""

from __future__ import annotations

from tests.services.papers.conftest import world

__all__ = ["world"]
