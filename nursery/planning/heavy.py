"""Libraries for numbers that take long to load; nothing of them may be used while a module is imported."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nursery.later import later

if TYPE_CHECKING:
    import pandas as pd
    from scipy import sparse, special
else:
    pd, sparse, special = later("pandas"), later("scipy.sparse"), later("scipy.special")

__all__ = ["pd", "sparse", "special"]
