"""How a time grows with the size of the work."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def exponent(sizes: Sequence[float], seconds: Sequence[float]) -> float:
    """The power of the size that fits the times best: 0 is no growth, 1 as much as the size."""
    slope, _level = np.polyfit(np.log(sizes), np.log(seconds), 1)
    return float(slope)
