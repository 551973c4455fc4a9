"""The sheet of a map: places on it, its window, graticule and scale bar."""

from __future__ import annotations

import numpy as np
import pytest

from nursery.planning.cartography.projection import Sheet, fit, graticule, scale_bar
from nursery.planning.distance import distances


def test_all_places_fit_with_room_around_them() -> None:
    longitude, latitude = np.array([-6.0, -5.0, -5.5]), np.array([39.0, 39.8, 39.2])

    x, y = fit(longitude, latitude, 960, 720).place(longitude, latitude)

    assert (x.min() >= 0.08 * 960 - 1e-6, x.max() <= 0.92 * 960 + 1e-6) == (True, True)
    assert (y.min() >= 0.08 * 720 - 1e-6, y.max() <= 0.92 * 720 + 1e-6) == (True, True)
    assert (y[1] < y[2] < y[0], x[0] < x[2] < x[1]) == (True, True)


def test_a_single_place_lies_in_the_middle() -> None:
    x, y = fit([-5.0], [39.0], 960, 720).place([-5.0], [39.0])

    assert (x.tolist(), y.tolist()) == ([480.0], [360.0])


def test_without_a_place_there_is_no_sheet() -> None:
    with pytest.raises(ValueError, match="no place to show"):
        fit([], [], 960, 720)


def test_a_unit_is_as_long_east_as_north_at_the_reference() -> None:
    sheet = Sheet(39.5, -5.5, 800.0, 39.5, 960, 720)
    (x,), (y,) = sheet.place([-5.4], [39.4])
    east = float(distances(39.5, -5.5, 39.5, -5.4)) / (x - 480)
    north = float(distances(39.5, -5.5, 39.4, -5.5)) / (y - 360)

    assert east == pytest.approx(north, rel=0.005)  # the ellipsoid differs from a sphere by a third of a per cent


def test_the_window_moves_by_shares_of_itself_and_zooms_around_its_middle() -> None:
    sheet = Sheet(39.5, -5.5, 800.0, 39.5, 960, 720)
    west, south, east, north = sheet.bounds

    moved = sheet.moved(0.5, 0.5)
    assert [moved.longitude, moved.latitude] == pytest.approx([east, south])
    assert np.diff(np.array(sheet.zoomed(2).bounds)[[0, 2]]) == pytest.approx((east - west) / 2)
    assert north - south == pytest.approx(0.9)


def test_the_graticule_stands_at_round_degrees() -> None:
    meridians, parallels, step = graticule(Sheet(39.5, -5.5, 800.0, 39.5, 960, 720))

    assert step == 0.2
    assert parallels.tolist() == [39.2, 39.4, 39.6, 39.8]
    assert meridians.tolist() == [-6.2, -6.0, -5.8, -5.6, -5.4, -5.2, -5.0, -4.8]


def test_the_scale_bar_is_a_round_length_measured_on_the_ellipsoid() -> None:
    sheet = Sheet(39.5, -5.5, 800.0, 39.5, 960, 720)
    metres, units = scale_bar(sheet, 200)
    degrees = units / (800.0 * sheet.narrowing)

    assert metres == 20_000
    assert float(distances(39.5, 0, 39.5, degrees)) == pytest.approx(20_000, rel=1e-6)
    assert units <= 200
