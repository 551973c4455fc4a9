"""Which material may be planted where, by its origin: the one home of the rule.

A site takes material of its own region of provenance; a site without a region code takes that of its own river
basin; a site with neither takes none until somebody writes one down. Codes are compared as they are written.
Own convention, no source.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike


class Origin(StrEnum):
    """What the rule says of one lot (or population) and one site."""

    SAME_REGION = "same-region"
    SAME_BASIN = "same-basin"
    OTHER_REGION = "other-region"
    OTHER_BASIN = "other-basin"
    #: The site asks for a region, and the population has no code.
    REGION_UNKNOWN = "region-unknown"
    #: The site asks for a basin, and the population has none written down.
    BASIN_UNKNOWN = "basin-unknown"
    #: The site has neither a region nor a basin.
    SITE_UNKNOWN = "site-unknown"


#: The answers that let a lot be planted.
ALLOWED = frozenset({Origin.SAME_REGION, Origin.SAME_BASIN})


def asked_place(region_code: ArrayLike, basin: ArrayLike) -> np.ndarray:
    """The place whose material each site takes: ``"region CODE"``, ``"basin NAME"`` or empty.

    Parameters
    ----------
    region_code, basin : array_like of str
        Of the sites; both broadcast, empty where unknown.

    Returns
    -------
    ndarray of str
    """
    region, river = _texts(region_code), _texts(basin)
    return np.where(region != "", _place("region ", region), _place("basin ", river))


def offered_places(region_code: ArrayLike, basin: ArrayLike) -> pd.DataFrame:
    """The places whose material each population is, to be matched with `asked_place`.

    Parameters
    ----------
    region_code, basin : array_like of str, shape (populations,)
        Empty where unknown.

    Returns
    -------
    DataFrame
        ``row`` (position in the arguments) and ``place``: none, one or two rows a population, region first.
    """
    region, river = np.broadcast_arrays(_texts(region_code), _texts(basin))
    places = pd.DataFrame(
        {
            "row": np.tile(np.arange(region.size), 2),
            "place": np.concatenate([_place("region ", region), _place("basin ", river)]),
        }
    )
    return places[places["place"] != ""].reset_index(drop=True)


def judge_origin(
    site_region: ArrayLike, site_basin: ArrayLike, region_code: ArrayLike, basin: ArrayLike
) -> np.ndarray:
    """What the rule says of each pair of site and population.

    Parameters
    ----------
    site_region, site_basin, region_code, basin : array_like of str
        Of the sites, then of the populations; all four broadcast, empty where unknown.

    Returns
    -------
    ndarray of str
        Values of `Origin`; those in ``ALLOWED`` are exactly the pairs where `asked_place` is one of
        `offered_places`.
    """
    asked_region, asked_basin = _texts(site_region), _texts(site_basin)
    region, river = _texts(region_code), _texts(basin)
    by_region = np.where(
        region == "",
        Origin.REGION_UNKNOWN,
        np.where(region == asked_region, Origin.SAME_REGION, Origin.OTHER_REGION),
    )
    by_basin = np.where(
        river == "", Origin.BASIN_UNKNOWN, np.where(river == asked_basin, Origin.SAME_BASIN, Origin.OTHER_BASIN)
    )
    without_region = np.where(asked_basin == "", Origin.SITE_UNKNOWN, by_basin)
    return np.where(asked_region != "", by_region, without_region)


def _texts(values: ArrayLike) -> np.ndarray:
    return np.asarray(values, dtype=np.str_)


def _place(kind: str, names: np.ndarray) -> np.ndarray:
    return np.where(names != "", np.strings.add(kind, names), "")
