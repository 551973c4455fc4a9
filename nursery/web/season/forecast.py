"""Growing targets that fall short, on the season page before all else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.services.forecast import words
from nursery.services.forecast.promises import read_forecasts
from nursery.web.session import db, today

#: Targets shown; the others are counted.
SHOWN = 6


def context() -> Mapping[str, Any]:
    """What falls short, the worst first."""
    short = [one for one in read_forecasts(db(), today=today()).targets if one.is_short]
    return {
        "growing_short": short[:SHOWN],
        "growing_more": max(len(short) - SHOWN, 0),
        "forecast_words": words,
    }
