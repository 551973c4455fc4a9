"""Which official areas each place lies in: all places and all areas at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.areas import ON_EDGE, OUTSIDE, Area, locate
from nursery.planning.heavy import pd

#: Stands for every species, of an area, and for none, of a place.
ANY = -1


@dataclass(frozen=True, slots=True)
class ZoneShape:
    """An area, the species it holds for (`ANY`: all) and its altitude limits in metres, NaN where it has none."""

    area: Area
    species: int = ANY
    lowest_m: float = np.nan
    highest_m: float = np.nan


def zones_of(
    zones: Sequence[ZoneShape],
    longitude: ArrayLike,
    latitude: ArrayLike,
    elevation_m: ArrayLike,
    species: ArrayLike,
) -> pd.DataFrame:
    """The areas that each place lies in.

    A species that has areas of its own follows those only: the law divides the country for it in its own way. The
    boundary of an area belongs to it, and so do its altitude limits.

    Parameters
    ----------
    zones
        Areas of one kind.
    longitude, latitude
        Of the places, degrees, shape (n,).
    elevation_m
        Metres, shape (n,); NaN where it is not known.
    species
        Of the places, integers of shape (n,); `ANY` for places of no one species, which only areas for all
        species hold.

    Returns
    -------
    DataFrame
        One row for each place in an area: ``place`` and ``zone`` (rows of the arguments), ``on_edge`` (the place
        lies on the boundary), ``undecided`` (the area has altitude limits, and the elevation is not known).
        By place, then area.
    """
    x, y, height = (np.asarray(values, np.float64) for values in (longitude, latitude, elevation_m))
    kinds = np.asarray(species, np.int64)
    own = np.array(sorted({zone.species for zone in zones} - {ANY}), np.int64)
    general = ~np.isin(kinds, own)
    found = []
    for row, zone in enumerate(zones):
        candidates = np.flatnonzero(general if zone.species == ANY else kinds == zone.species)
        where = locate(zone.area, x[candidates], y[candidates])
        places = candidates[where != OUTSIDE]
        limited = not (np.isnan(zone.lowest_m) and np.isnan(zone.highest_m))
        unknown = np.isnan(height[places]) & limited
        # A comparison with NaN is false: a missing limit or elevation keeps nothing out.
        outside = (height[places] < zone.lowest_m) | (height[places] > zone.highest_m)
        table = pd.DataFrame(
            {
                "place": places,
                "zone": row,
                "on_edge": where[where != OUTSIDE] == ON_EDGE,
                "undecided": unknown,
            }
        )
        found.append(table[~outside])
    if not found:
        return pd.DataFrame({"place": [], "zone": [], "on_edge": [], "undecided": []}).astype(
            {"place": np.int64, "zone": np.int64, "on_edge": bool, "undecided": bool}
        )
    together: pd.DataFrame = pd.concat(found).sort_values(["place", "zone"], kind="stable").reset_index(drop=True)
    return together
