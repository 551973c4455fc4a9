"""How many mothers a lot is worth genetically.

Nm = 1 ÷ Σp² (group coancestry of unrelated, non-inbred parents). Seedlings from open pollination lie between Nm
(pollen from the same mothers in the same shares) and 4·Nm (pollen from ever so many others): derived from
Ns = 4·Nm·Nf ÷ (Nm + Nf). Sex-ratio limit of dioecious species: 4·males·females ÷ (males + females).
Definition of the status number from memory (Lindgren et al. 1996).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, amount


class Kind(StrEnum):
    """What was taken from a mother plant."""

    SEED = "seed"
    CLONE = "clone"


class Sex(StrEnum):
    """Sex of a mother plant of a dioecious species."""

    MALE = "male"
    FEMALE = "female"


@dataclass(frozen=True)
class MotherBalance:
    """Effective number of mothers, the share of the largest, and bounds of the status number."""

    effective_mothers: Floats
    largest_share: Floats
    status_number_low: Floats
    status_number_high: Floats


def mother_balance(weights: ArrayLike, kind: Kind, sexes: ArrayLike | None = None) -> MotherBalance:
    """Judge how evenly mothers share in a lot.

    Parameters
    ----------
    weights : array_like, shape (..., mothers)
        Share of each mother in any unit: grams of her bag, cuttings, plants. 0 for none; rows of unequal
        length are filled with 0.
    kind : Kind
        Seed, or clones (cuttings).
    sexes : array_like of str, same shape, optional
        Sex of each mother; those with weight 0 do not count.

    Returns
    -------
    MotherBalance
        Arrays of the leading shape.

    Raises
    ------
    ValueError
        For negative weights, or a row of nothing but 0.
    """
    given = amount("weights", weights)
    total = given.sum(-1, keepdims=True)
    if np.any(total <= 0):
        raise ValueError("weights need at least one mother above 0")
    shares = given / total
    effective = np.asarray(1 / (shares**2).sum(-1))
    low, high = effective, effective * (4 if kind == Kind.SEED else 1)
    if sexes is not None:
        male = (np.asarray(sexes) == str(Sex.MALE)) & (given > 0)
        males, females = male.sum(-1), (~male & (given > 0)).sum(-1)
        limit = 4 * males * females / (males + females)
        low, high = np.minimum(low, limit), np.minimum(high, limit)
    return MotherBalance(effective, shares.max(-1), np.asarray(low), np.asarray(high))
