"""The tables of the demo season, read from the files beside this module."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "tables"


def rows(name: str) -> list[dict[str, str]]:
    """All rows of one table."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def growing_places() -> dict[str, Any]:
    """Nurseries with their containers, storage places and preferences."""
    return tomllib.loads((FOLDER / "nurseries.toml").read_text(encoding="utf-8"))


def number(text: str) -> float | None:
    """A cell as a number; None when it is empty."""
    return float(text) if text else None


def whole(text: str) -> int | None:
    """A cell as a whole number; None when it is empty."""
    return int(text) if text else None
