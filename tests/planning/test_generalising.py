"""Whatever the true place, it lies within the distance told."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.distance import distances
from nursery.planning.generalising import generalise


@given(st.floats(-89.9, 89.9), st.floats(-179.9, 179.9))
def test_the_place_lies_within_what_is_told(latitude: float, longitude: float) -> None:
    told = generalise(latitude, longitude)

    assert told.metres is not None
    assert float(distances(latitude, longitude, told.latitude, told.longitude)) <= told.metres
    assert (told.latitude, told.longitude) == (round(told.latitude, 1), round(told.longitude, 1))


def test_a_tenth_of_a_degree_is_some_kilometres() -> None:
    # Half a cell at 40° north: 5.55 km from south to north, 4.27 km from west to east; 7.0 km to the corner.
    assert generalise(40.1234, -7.5678) == (40.1, -7.6, 7100)
    # At the equator the cell is square: 5.53 and 5.57 km, 7.8 km to the corner.
    assert generalise(0.0, 0.0) == (0.0, 0.0, 7900)
