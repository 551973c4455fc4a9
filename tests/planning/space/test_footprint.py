"""The ground of trays, and how much bench they take."""

from __future__ import annotations

import numpy as np
import pytest

from nursery.planning.space.footprint import FLAT_M2, bench_area, flats_for, tray_ground


def test_a_measured_tray_takes_its_length_times_its_width() -> None:
    assert tray_ground(500.0, 400.0, 40, 300.0).item() == pytest.approx(0.2)


def test_an_unmeasured_tray_takes_the_ground_of_its_cells_as_cubes() -> None:
    ground = tray_ground([np.nan, 500.0], [400.0, np.nan], [40, 40], [1000.0, 1000.0])
    assert ground.tolist() == pytest.approx([0.4, 0.4])


def test_a_tray_without_cells_is_a_flat() -> None:
    assert tray_ground(np.nan, np.nan, [0, np.nan], np.nan).tolist() == [FLAT_M2, FLAT_M2]


def test_the_working_figure_is_near_a_published_density_and_on_its_safe_side() -> None:
    # Barnett & McGilvray 2000, Native Plants J. 1(1):54-58: cells of 100 mL at about 535 to the square metre.
    cells_on_a_square_metre = 1 / tray_ground(np.nan, np.nan, 1, 100.0).item()
    assert 0.8 * 535 < cells_on_a_square_metre < 535


def test_bench_is_trays_times_ground_times_spacing() -> None:
    assert bench_area([10, 0], 0.2, 1.25).tolist() == pytest.approx([2.5, 0.0])


def test_flats_are_filled_whole() -> None:
    assert flats_for([0, 1, 500, 501]).tolist() == [0.0, 1.0, 1.0, 2.0]


@pytest.mark.parametrize("measure", [0.0, -1.0])
def test_a_tray_of_no_length_is_refused(measure: float) -> None:
    with pytest.raises(ValueError, match="length_mm must be above 0"):
        tray_ground(measure, 400.0, 40, 300.0)
