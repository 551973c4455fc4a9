"""What a dose comes to, for the ways in which labels write it."""

from __future__ import annotations

import pytest

from nursery.services.health.doses import amount_used


@pytest.mark.parametrize(
    ("dose", "unit", "value", "larger"),
    [
        (2.5, "g per l", 0.05, "kg"),  # in 20 l of water
        (2.5, "ml per l", 0.05, "l"),
        (25, "ml per 10 l", 0.05, "l"),
        (250, "g/100 l", 0.05, "kg"),
        (2.5, "ML/L", 0.05, "l"),
        (3, "kg per ha", 0.015, "kg"),  # on 50 m²
        (1.5, "l/ha", 0.0075, "l"),
        (10, "g per m²", 0.5, "kg"),
        (10, "ml/m2", 0.5, "l"),
        (30, "ml per 100 m2", 0.015, "l"),
        (0.5, "ml per 0,5 l", 0.02, "l"),
    ],
)
def test_dose_times_what_it_is_a_dose_of(dose: float, unit: str, value: float, larger: str) -> None:
    found = amount_used(dose, unit, area_m2=50, water_l=20)

    assert found is not None
    assert (found.value, found.unit) == (pytest.approx(value, rel=1e-12), larger)


@pytest.mark.parametrize(
    "unit", ["a spoon", "%", "ml per plant", "drops per l", "", "ml per", "per l", "ml per 0 l"]
)
def test_a_unit_that_says_nothing_of_water_or_area_gives_no_amount(unit: str) -> None:
    assert amount_used(2, unit, area_m2=50, water_l=20) is None


@pytest.mark.parametrize(("unit", "area", "water"), [("g per l", 50, None), ("kg per ha", None, 20)])
def test_without_the_measure_there_is_no_amount(unit: str, area: float | None, water: float | None) -> None:
    assert amount_used(2, unit, area_m2=area, water_l=water) is None
