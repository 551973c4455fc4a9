from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.beds import bed_sowing
from nursery.planning.quantities import quantities


def test_a_bed_by_hand() -> None:
    # 150 ÷ (0.7 × 0.8) = 267.86 seeds; × 5 g ÷ 1000 ÷ 0.9 = 1.488 g; × 20 m² = 29.76 g
    found = bed_sowing(density_per_m2=150, germination=0.7, purity=0.9, tsw_g=5, survival=0.8, area_m2=20)

    assert found.seeds_per_m2 == pytest.approx(267.857, abs=0.0005)
    assert found.grams_per_m2 == pytest.approx(1.4881, abs=5e-5)
    assert found.grams == pytest.approx(29.762, abs=0.0005)


@given(plants=st.integers(1, 100_000), g=st.floats(0.05, 1), survival=st.floats(0.05, 1), tsw=st.floats(0.1, 4000))
def test_a_bed_takes_the_seed_of_the_bareroot_chain(plants: int, g: float, survival: float, tsw: float) -> None:
    bed = bed_sowing(density_per_m2=plants, germination=g, tsw_g=tsw, survival=survival, area_m2=1)
    chain = quantities(plants=plants, method="bareroot", germination=g, establishment=survival, tsw_g=tsw)

    assert bed.grams == pytest.approx(chain.grams)


@pytest.mark.parametrize("name", ["germination", "survival", "purity", "tsw_g"])
def test_nothing_cannot_be_divided_by(name: str) -> None:
    bed = {"density_per_m2": 1, "germination": 1, "survival": 1, "purity": 1, "tsw_g": 1, "area_m2": 1}

    with pytest.raises(ValueError, match=name):
        bed_sowing(**{**bed, name: 0})
