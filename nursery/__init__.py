"""The native plant nursery production planner."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

__version__ = "0.1.0"


def create_app() -> Flask:
    """The web application for servers; imported late so that ``nursery.planning`` loads no web code."""
    from nursery.app import start  # noqa: PLC0415 -- keeps planning pure at run time

    return start()
