"""The sowing calculator: what each method asks for and what “auto” chooses."""

from __future__ import annotations

from typing import Any

import pytest

from nursery.errors import Invalid
from nursery.planning.cells import cost_of_filled_cell
from nursery.services.calculators import calculate
from tests.services.calculators.inputs import GOOD

LINE = {"plants": 1000, "germination": 0.5, "emergence": 0.8, "cells_per_tray": 40, "tsw_g": 10}
COSTS = {"cost_seed": 0.01, "cost_thin": 0.02, "cost_cell": 0.2}


def refusal(payload: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(Invalid) as refused:
        calculate("sowing", payload)
    return refused.value.errors


def test_the_chain_worked_by_hand() -> None:
    # See tests/planning/test_quantities.py for the arithmetic.
    found = calculate("sowing", GOOD["sowing"])

    assert found == {
        "plants_to_plant": 1000,
        "ready_plants": 1053,
        "seedlings": 1298,
        "cells": 1646,
        "trays": 29,
        "cells_sown": 1740,
        "seeds_per_cell": 2,
        "seeds": 3480,
        "grams": pytest.approx(13.05),
    }


def test_auto_takes_the_cheapest_filled_cell() -> None:
    found = calculate("sowing", {**LINE, **COSTS, "method": "direct", "seeds_per_cell": "auto"})

    costs = [float(cost_of_filled_cell(0.4, n, 0.01, 0.02, 0.2)) for n in range(1, 51)]
    assert found["seeds_per_cell"] == 1 + costs.index(min(costs))


def test_auto_asks_for_the_costs_it_weighs() -> None:
    assert list(refusal({**LINE, "method": "direct", "seeds_per_cell": "auto"})) == list(COSTS)


def test_direct_sowing_asks_how_many_seeds() -> None:
    assert list(refusal({**LINE, "method": "direct"})) == ["seeds_per_cell"]


@pytest.mark.parametrize("wish", [{}, {"seeds_per_cell": 1}, {"seeds_per_cell": "auto"}])
@pytest.mark.parametrize(("method", "seeds"), [("presprouted", 2560), ("pricked-out", 2500), ("cuttings", 2520)])
def test_other_methods_set_one_in_each_cell(method: str, seeds: int, wish: dict[str, Any]) -> None:
    found = calculate("sowing", {**LINE, **wish, "method": method})

    assert (found["seeds_per_cell"], found["seeds"]) == (1, seeds)


@pytest.mark.parametrize("method", ["presprouted", "pricked-out"])
def test_two_in_a_cell_do_not_fit_methods_that_set_one(method: str) -> None:
    assert list(refusal({**LINE, "method": method, "seeds_per_cell": 2})) == ["seeds_per_cell"]


def test_a_bed_has_no_cells_and_needs_no_trays() -> None:
    line = {name: value for name, value in LINE.items() if name != "cells_per_tray"}

    found = calculate("sowing", {**line, "method": "bareroot"})

    assert (found["cells"], found["trays"], found["cells_sown"], found["seeds_per_cell"]) == (0, 0, 0, None)
    assert (found["seeds"], found["grams"]) == (2500, 25)


def test_cuttings_are_not_weighed() -> None:
    line = {name: value for name, value in LINE.items() if name != "tsw_g"}

    assert calculate("sowing", {**line, "method": "cuttings"})["grams"] is None
    assert list(refusal({**line, "method": "presprouted"})) == ["tsw_g"]


@pytest.mark.parametrize("typed", ["50 %", "50", "0,5", 0.5])
def test_a_fraction_may_be_typed_as_percent(typed: Any) -> None:
    found = calculate("sowing", {**LINE, "germination": typed, "method": "bareroot"})

    assert found["seeds"] == 2500


def test_a_bare_percent_as_a_number_is_refused_with_what_it_may_mean() -> None:
    errors = refusal({**LINE, "germination": 85, "method": "bareroot"})

    assert "85" in errors["germination"]
    assert "0.85" in errors["germination"]


def test_values_that_run_off_together_are_refused() -> None:
    smallest = dict.fromkeys(("germination", "emergence", "establishment", "hardening", "field_survival"), 0.0001)

    errors = refusal({**LINE, **smallest, "plants": 10**8, "method": "bareroot"})

    assert "too large" in errors["plants"]
