"""Distances on the ground."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats


def distances(from_lat: ArrayLike, from_lon: ArrayLike, to_lat: ArrayLike, to_lon: ArrayLike) -> Floats:
    """Geodesic distance on the WGS 84 ellipsoid.

    Parameters
    ----------
    from_lat, to_lat : array_like
        Latitudes, degrees north, −90 to 90; all four broadcast. NaN where a place has no coordinates.
    from_lon, to_lon : array_like
        Longitudes, degrees east, −180 to 180.

    Returns
    -------
    ndarray of float
        Metres; NaN where a coordinate is.

    Raises
    ------
    ValueError
        For degrees off the globe.

    Notes
    -----
    Karney's geodesic algorithm as in PROJ.
    """
    import pyproj  # noqa: PLC0415 -- slow import

    lats = [np.asarray(x, dtype=np.float64) for x in (from_lat, to_lat)]
    lons = [np.asarray(x, dtype=np.float64) for x in (from_lon, to_lon)]
    if any(np.any(np.abs(x) > 90) for x in lats) or any(np.any(np.abs(x) > 180) for x in lons):
        raise ValueError("latitudes lie between −90 and 90 degrees, longitudes between −180 and 180")
    places = np.broadcast_arrays(lons[0], lats[0], lons[1], lats[1])
    known = ~np.isnan(sum(places))
    metres = np.full(known.shape, np.nan)
    if np.any(known):
        start_lon, start_lat, end_lon, end_lat = (place[known] for place in places)
        metres[known] = pyproj.Geod(ellps="WGS84").inv(start_lon, start_lat, end_lon, end_lat)[2]
    return metres
