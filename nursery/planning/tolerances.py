"""Tolerated range between germination replicates: the printed table, which is not plain rounding.

Rows: whole mean germination (or 100 minus it) down to which a tolerance holds, and the tolerance in percentage
points between the highest and the lowest replicate of 100 seeds. US Federal Seed Act regulations, 7 CFR
§ 201.55(a), rows 99–71, read in copies of the regulation; rows below 71 from memory.
"""

from __future__ import annotations

import math

#: Replicates of 100 → (mean down to, tolerance) from the top.
PRINTED: dict[int, tuple[tuple[int, int], ...]] = {
    4: (
        *((99, 5), (98, 6), (97, 7), (96, 8), (95, 9), (93, 10), (91, 11), (89, 12), (87, 13), (84, 14), (81, 15)),
        *((78, 16), (73, 17), (71, 18)),
        *((67, 18), (56, 19), (50, 20)),  # from memory
    ),
    2: ((96, 6), (95, 7), (93, 8), (90, 9), (88, 10), (84, 11), (81, 12), (76, 13), (71, 14)),
}
_LEVEL = 0.975


def tolerated_range(mean_pct: float, replicates: int, seeds_per_replicate: int) -> float:
    """Largest difference between replicates, in percentage points, that chance explains.

    Parameters
    ----------
    mean_pct : float
        Mean germination, 0–100; rounded half up to find the row. Means above 99 (below 1) use the row of 99.
    replicates : int
        2 or more.
    seeds_per_replicate : int
        1 or more.

    Returns
    -------
    float
        The printed tolerance for 4 or 2 replicates of 100 where a row exists. Otherwise the model behind the
        table, rounded: q(0.975; replicates, ∞) · √(p(100 − p) ÷ seeds), q of the studentized range, which meets
        the printed rows within 1 point.

    Raises
    ------
    ValueError
        For a mean outside 0–100, fewer than two replicates or no seeds.
    """
    if not 0 <= mean_pct <= 100 or replicates < 2 or seeds_per_replicate < 1:
        raise ValueError("needs a mean of 0–100 %, two replicates or more and one seed or more in each")
    rounded = math.floor(mean_pct + 0.5)
    row = min(max(rounded, 100 - rounded), 99)
    if seeds_per_replicate == 100:
        for least, tolerance in PRINTED.get(replicates, ()):
            if row >= least and (replicates == 4 or row <= 97):
                return float(tolerance)
    from scipy.stats import studentized_range  # noqa: PLC0415 -- slow import

    q = float(studentized_range.ppf(_LEVEL, replicates, math.inf))
    return float(math.floor(q * math.sqrt(row * (100 - row) / seeds_per_replicate) + 0.5))
