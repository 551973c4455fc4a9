"""How many mothers a lot is worth genetically.

Nm = 1 ÷ Σp² (group coancestry of unrelated, non-inbred parents). Seedlings from open pollination lie between Nm
(pollen from the same mothers in the same shares) and 4·Nm (pollen from ever so many others): derived from
Ns = 4·Nm·Nf ÷ (Nm + Nf). Lots with shares w and effective mothers N, unrelated to each other, come together to
1/N = Σw²/N (derived from the same). Sex-ratio limit of dioecious species: 4·males·females ÷ (males + females).
Definition of the status number from memory (Lindgren et al. 1996).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
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
    low, high = effective, status_number(effective, np.inf) if kind == Kind.SEED else effective
    if sexes is not None:
        male = (np.asarray(sexes) == str(Sex.MALE)) & (given > 0)
        males, females = male.sum(-1), (~male & (given > 0)).sum(-1)
        limit = 4 * males * females / (males + females)
        low, high = np.minimum(low, limit), np.minimum(high, limit)
    return MotherBalance(effective, shares.max(-1), np.asarray(low), np.asarray(high))


def status_number(mothers: ArrayLike, fathers: ArrayLike) -> Floats:
    """Status number of seedlings of mothers by pollen of others, 4·Nm·Nf ÷ (Nm + Nf).

    Parameters
    ----------
    mothers, fathers : array_like
        Effective numbers, above 0 and unrelated to each other; fathers may be infinite. A third as many fathers as
        mothers are worth what pollen of the mothers themselves is.
    """
    each = 1 / np.asarray(mothers, np.float64) + 1 / np.asarray(fathers, np.float64)
    return np.asarray(4 / each)


def effective_of_mix(shares: ArrayLike, effective: ArrayLike) -> Floats:
    """Effective mothers of a mixture of lots that have no mother in common, 1/N = Σw²/N.

    Parameters
    ----------
    shares : array_like, shape (..., lots)
        Share of each lot by mass, in any unit; 0 for none.
    effective : array_like, same shape
        Effective mothers of each lot, 1 or more.

    Returns
    -------
    ndarray
        Of the leading shape. Where lots share mothers it is too high: use `mother_shares`, which is exact.

    Raises
    ------
    ValueError
        For negative shares, a row of nothing but 0, or fewer effective mothers than one.

    Notes
    -----
    Derived from group coancestry Θ = ΣΣ p·p·θ with θ = 0 between lots, as Nm = 1 ÷ Σp² is within a lot.
    """
    given, worth = amount("shares", shares), amount("effective", effective)
    total = given.sum(-1, keepdims=True)
    if np.any(total <= 0):
        raise ValueError("shares need at least one lot above 0")
    # A hair under one is the rounding of a lot of a single mother.
    if np.any(worth < 1 - 1e-9):
        raise ValueError("effective must be 1 or more")
    return np.asarray(1 / ((given / total) ** 2 / worth).sum(-1))


def mother_shares(parts: Iterable[tuple[float, Mapping[Hashable, float]]]) -> dict[Hashable, float]:
    """Share of each mother in a mixture; one that gave to several parts counts with all she gave.

    Parameters
    ----------
    parts
        Share of each part by mass, and what each of its mothers gave, both in any unit; nothing is negative.

    Returns
    -------
    dict
        Shares (sum 1) by mother.

    Raises
    ------
    ValueError
        For no parts, or a part whose mothers gave nothing.
    """
    held = [(share, given, sum(given.values())) for share, given in parts]
    whole = sum(share for share, _given, _total in held)
    if whole <= 0 or any(total <= 0 for _share, _given, total in held):
        raise ValueError("each part needs a mother that gave something")
    found: defaultdict[Hashable, float] = defaultdict(float)
    for share, given, total in held:
        for mother, weight in given.items():
            found[mother] += share / whole * weight / total
    return dict(found)
