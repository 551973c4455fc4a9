"""What a limit on a level says of single variables."""

from __future__ import annotations

from typing import Any

import numpy as np

from nursery.planning.allocation.model import Model
from nursery.planning.arrays import Floats

#: Bounds below the solver's own tolerance would only confuse it.
FLOOR = 2e-6


def reduced_costs(model: Model, cost: Floats) -> tuple[float, Floats] | None:
    """The least that ``cost`` can be if draws are not whole, and by how much a unit of each variable raises it."""
    from scipy.optimize import linprog  # noqa: PLC0415 -- slow import
    from scipy.sparse import vstack  # noqa: PLC0415 -- slow import

    rows, low, high = model.matrix()
    above, below = np.isfinite(high), np.isfinite(low)
    # The stubs of linprog know neither sparse rows nor an array of bounds.
    bounds: Any = np.stack([np.zeros(model.size), model.highest()], axis=1)
    left: Any = vstack([rows[above], -rows[below]], format="csr")
    right = np.concatenate([high[above], -low[below]])
    found = linprog(cost, A_ub=left, b_ub=right, bounds=bounds, method="highs")
    if found.status != 0 or found.fun is None:
        return None
    return float(found.fun), np.asarray(found.lower.marginals)


def tighten(model: Model, cost: Floats, limit: float, slip: float) -> None:
    """Upper bounds that follow from ``cost ≤ limit``: they take no answer away that keeps it.

    By duality, cost ≥ least + Σ reduced cost · x. Many variables come down to dust this way, which the solver
    could not see from the row alone, and a pair that cannot give its least draw is settled as unused.
    """
    found = reduced_costs(model, cost)
    if found is None:
        return
    least, raised = found
    at = np.flatnonzero(raised > 0)
    # One slip more than the limit, for what the solver rounds in its duals.
    upper = (limit + slip - least) / raised[at]
    tighter = upper < 0.9 * model.highest()[at]
    model.cap(at[tighter], np.maximum(upper[tighter], FLOOR))
