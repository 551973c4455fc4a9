from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.distance import distances

latitude = st.floats(-90, 90)
longitude = st.floats(-180, 180)


@given(a=latitude, b=longitude, c=latitude, d=longitude)
def test_distance_agrees_with_geographiclib(a: float, b: float, c: float, d: float) -> None:
    assert distances(a, b, c, d) == pytest.approx(Geodesic.WGS84.Inverse(a, b, c, d)["s12"], abs=1e-3)


def test_a_table_of_lots_and_sites_is_worked_at_once() -> None:
    found = distances([[40.0], [41.0]], [[-7.0], [-8.0]], [40.0, 40.5, np.nan], [-7.0, -7.5, -7.0])

    assert found.shape == (2, 3)
    assert found[0, 0] == 0
    assert np.isnan(found[:, 2]).all()
    assert found[1, 1] == pytest.approx(Geodesic.WGS84.Inverse(41, -8, 40.5, -7.5)["s12"])


@pytest.mark.parametrize("place", [(91, 0), (0, 181), (-90.5, 0)])
def test_places_off_the_globe_are_refused(place: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="between −90 and 90"):
        distances(*place, 0, 0)


# The first lines of the test set that comes with GeographicLib (C. F. F. Karney, test_geodesic.py of the package
# geographiclib, MIT licence; read there): latitude, longitude, latitude, longitude in degrees WGS 84, and metres.
@pytest.mark.parametrize(
    ("places", "metres"),
    [
        ((35.60777, -139.44815, -11.17491, -69.95921), 8935244.5604818305),
        ((55.52454, 106.05087, 77.03196, 197.18234 - 360), 4105086.1713924406),
        ((-21.97856, 142.59065, 41.84138, 98.56635), 8394328.894657671),
        ((-66.99028, 112.2363, -12.70631, 285.90344 - 360), 11150344.2312080241),
        ((-17.42761, 173.34268, -15.84784, 5.93557), 16076603.1631180673),
        ((-50.56724, -16.30485, -33.56571, -94.97412), 6455670.5118668696),
        ((-58.93002, -8.90775, -8.91104, 133.13503), 11756066.0219864627),
        ((-68.82867, -74.28391, -50.63005, -8.36685), 3956936.926063544),
        # Nearly antipodal: Wellington to Salamanca, as the page of its JavaScript package prints.
        ((-41.32, 174.81, 40.96, -5.50), 19959679.267),
    ],
)
def test_published_test_lines_are_met_to_the_millimetre(places: tuple[float, ...], metres: float) -> None:
    assert distances(*places) == pytest.approx(metres, abs=1e-3, rel=0)
