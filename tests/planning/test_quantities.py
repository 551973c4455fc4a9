"""The chain backward, against hand-worked examples and a plain loop of scalars."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.quantities import cell_success, grams_of_seeds, one_per_cell, quantities, seeds_for_cells
from nursery.planning.words import Method


def as_lists(**given_values: object) -> dict[str, object]:
    found = quantities(**given_values)  # type: ignore[arg-type]
    return {name: value.tolist() for name, value in vars(found).items()}


def test_a_direct_sowing_worked_by_hand() -> None:
    # 900 survivors ÷ 0.9 = 1000 to plant ÷ 0.95 = 1052.63 ready ÷ (0.9 × 0.98 × 0.92) = 1297.2 seedlings
    # ÷ (1 − 0.46²) = 1645.4 cells ÷ 60 = 27.4 trays → 28 + 1 spare = 29 → 1740 cells × 2 = 3480 seeds
    # × 3.6 g ÷ 1000 ÷ 0.96 = 13.05 g
    found = as_lists(
        plants=900, method="direct", germination=0.6, emergence=0.9, establishment=0.92, hardening=0.98, cull=0.1,
        handling_loss=0.05, field_survival=0.9, seeds_per_cell=2, cells_per_tray=60, tsw_g=3.6, purity=0.96,
        spare_trays=1,
    )  # fmt: skip

    seedlings = 900 / 0.9 / 0.95 / (0.9 * 0.98 * 0.92)
    assert found["plants_to_plant"] == 1000
    assert found["ready_plants"] == 1053
    assert found["seedlings"] == math.ceil(seedlings)
    assert found["cells"] == math.ceil(seedlings / (1 - 0.46**2))
    assert (found["trays"], found["cells_sown"], found["seeds"]) == (29, 1740, 3480)
    assert found["grams"] == pytest.approx(13.05)


@pytest.mark.parametrize(
    ("method", "cells", "trays", "seeds"),
    [
        # 1000 seedlings, germination 0.5, emergence 0.8, trays of 40
        (Method.DIRECT, 2500, 63, 2520),
        (Method.CUTTINGS, 2500, 63, 2520),
        (Method.PRESPROUTED, 1250, 32, 2560),  # 1280 cells ÷ 0.5
        (Method.PRICKED_OUT, 1000, 25, 2500),  # 1000 cells ÷ 0.4
        (Method.BAREROOT, 0, 0, 2500),  # 1000 seedlings ÷ 0.4
    ],
)
def test_each_method_has_its_own_way_to_a_seedling(method: Method, cells: int, trays: int, seeds: int) -> None:
    found = quantities(
        plants=1000, method=method, germination=0.5, emergence=0.8, cells_per_tray=40, tsw_g=10, seeds_per_cell=1
    )

    assert found.seedlings == 1000
    assert (found.cells, found.trays, found.cells_sown, found.seeds) == (cells, trays, trays * 40, seeds)
    assert found.grams == pytest.approx(seeds / 100)


def test_spare_trays_are_sown_too_but_a_bed_has_none() -> None:
    found = quantities(
        plants=100, method=["direct", "bareroot"], germination=0.5, cells_per_tray=40, spare_trays=2
    )

    assert found.trays.tolist() == [7, 0]
    assert found.seeds.tolist() == [280, 200]


@pytest.mark.parametrize("split", [(0.9, 0.8), (0.8, 0.9)])
def test_purity_and_germination_weigh_the_same(split: tuple[float, float]) -> None:
    # Willan 1985, A Guide to Forest Seed Handling, FAO Forestry Paper 20/2, ch. 9: 1 kg of impure seed gives
    # 36,000 seedlings at 90 % × 80 % and at 80 % × 90 %; 50,000 pure seeds per kg (20 g per thousand) follow.
    purity, germination = split

    found = quantities(plants=36_000, method="bareroot", germination=germination, purity=purity, tsw_g=20)

    assert found.grams == pytest.approx(1000)


@given(
    plants=st.integers(0, 100_000),
    g=st.floats(0.05, 1),
    m=st.floats(0.05, 1),
    kept=st.floats(0.05, 1),
    loss=st.floats(0, 0.9),
    n=st.integers(1, 8),
    per_tray=st.integers(1, 300),
)
def test_what_is_sown_gives_back_at_least_what_was_wanted(
    plants: int, g: float, m: float, kept: float, loss: float, n: int, per_tray: int
) -> None:
    found = quantities(
        plants=plants, method="direct", germination=g, emergence=m, establishment=kept, cull=loss,
        seeds_per_cell=n, cells_per_tray=per_tray,
    )  # fmt: skip

    grown = found.cells_sown * (1 - (1 - g * m) ** n) * kept * (1 - loss)
    assert grown >= plants - 1e-6 * max(plants, 1)
    assert found.cells_sown - found.cells < per_tray
    assert found.seeds == found.cells_sown * n


def test_lines_of_all_methods_are_worked_together_as_one_by_one() -> None:
    rng = np.random.default_rng(7)
    methods = np.array(list(Method) * 20)
    lines = {
        "plants": rng.integers(1, 5000, 100), "method": methods, "germination": rng.uniform(0.1, 1, 100),
        "emergence": rng.uniform(0.5, 1, 100), "cull": rng.uniform(0, 0.4, 100),
        "seeds_per_cell": rng.integers(1, 5, 100), "cells_per_tray": rng.integers(20, 120, 100),
        "tsw_g": rng.uniform(0.1, 3000, 100), "purity": rng.uniform(0.5, 1, 100),
    }  # fmt: skip

    together = quantities(**lines)
    alone = [quantities(**{name: values[row] for name, values in lines.items()}) for row in range(100)]

    for name, values in vars(together).items():
        assert values.tolist() == [getattr(one, name).item() for one in alone]


def test_seeds_per_cell_are_a_wish_only_where_several_may_be_sown() -> None:
    assert one_per_cell(list(Method), 3).tolist() == [3, 1, 1, 3, 0]


def test_success_of_a_cell_by_method() -> None:
    assert cell_success(list(Method), 0.5, 0.8, 2) == pytest.approx([0.64, 0.8, 1.0, 0.64, 0.4])


def test_seeds_for_cells_by_method() -> None:
    assert seeds_for_cells(list(Method), 100, 0.5, 0.8, 2) == pytest.approx([200, 200, 250, 200, 0])


def test_grams_by_hand() -> None:
    assert grams_of_seeds(3480, 3.6, 0.96) == pytest.approx(13.05)
    assert grams_of_seeds(100, 0).item() == 0


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("germination", 0), ("germination", 1.2), ("purity", 0), ("cull", 1), ("handling_loss", 1), ("plants", -1),
        ("field_survival", 0), ("cells_per_tray", 0), ("spare_trays", -1), ("tsw_g", -1), ("method", "airlift"),
    ],
)  # fmt: skip
def test_a_value_outside_its_range_is_refused(name: str, value: object) -> None:
    line = {"plants": 10, "method": "direct", "germination": 0.5}

    with pytest.raises(ValueError, match=name):
        quantities(**{**line, name: value})  # type: ignore[arg-type]
