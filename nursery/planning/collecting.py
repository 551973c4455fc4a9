"""From seed needed back to fruit and mother plants."""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, Ints, amount, fraction
from nursery.planning.quantities import grams_of_seeds
from nursery.planning.rounding import whole

#: Share of a plant's crop taken at most, so that enough is left where it grew: 20 % of the mature seed available
#: on the day, US Seeds of Success technical protocol §9.
MAX_SHARE = 0.2


@dataclass(frozen=True)
class Collection:
    """Grams of clean seed and kilograms of fruit, unrounded; mother plants rounded up."""

    clean_g: Floats
    fruit_kg: Floats
    mothers: Ints


def collection(
    *,
    seeds: ArrayLike,
    tsw_g: ArrayLike,
    extraction_yield: ArrayLike,
    fruit_kg_per_mother: ArrayLike,
    purity: ArrayLike = 1.0,
    max_share: ArrayLike = MAX_SHARE,
) -> Collection:
    """Fruit to collect and mother plants to visit for a number of pure seeds; all arguments broadcast.

    Parameters
    ----------
    seeds : array_like
        Pure seeds needed, 0 or more.
    tsw_g : array_like
        Grams per thousand pure seeds, above 0.
    extraction_yield : array_like
        Grams of clean seed per gram of fruit as collected, above 0 up to 1.
    fruit_kg_per_mother : array_like
        Whole crop of one mother plant, kg, above 0.
    purity, max_share : array_like
        Fractions above 0; ``max_share`` of a mother's crop is taken at most.

    Returns
    -------
    Collection
        clean = seeds × TSW ÷ 1000 ÷ purity; fruit = clean ÷ yield; mothers = fruit ÷ (crop × share).

    Raises
    ------
    ValueError
        For values outside those ranges.

    Notes
    -----
    The same chain as Robbins A.M.J. in Willan 1985, *A Guide to Forest Seed Handling*, FAO Forestry Paper 20/2.
    """
    clean = grams_of_seeds(seeds, amount("tsw_g", tsw_g, positive=True), purity)
    fruit = clean / 1000 / fraction("extraction_yield", extraction_yield, positive=True)
    taken = amount("fruit_kg_per_mother", fruit_kg_per_mother, positive=True)
    taken = taken * fraction("max_share", max_share, positive=True)
    return Collection(clean, fruit, whole(fruit / taken))
