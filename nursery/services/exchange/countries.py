"""Countries from two letters to three (ISO 3166-1): plant passports take the one, passport data the other.

The table is that of iso-codes of the Debian project, as the package pycountry 26.2.16 carries it
(read 30 Nov 2026).
"""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path


@lru_cache(maxsize=1)
def _table() -> dict[str, str]:
    with Path(__file__).with_name("iso3166.csv").open(encoding="utf-8", newline="") as file:
        return {row["alpha_2"]: row["alpha_3"] for row in csv.DictReader(file)}


def alpha_3(alpha_2: str) -> str:
    """``PT`` as ``PRT``; empty where the letters are no country's."""
    return _table().get(alpha_2.upper(), "")
