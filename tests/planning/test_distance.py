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
