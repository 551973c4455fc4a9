from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.collecting import collection


def test_fruit_and_mothers_by_hand() -> None:
    # 10,000 × 75 g ÷ 1000 ÷ 0.9 = 833.3 g; ÷ 0.2 = 4.17 kg; ÷ (3 kg × 0.2) = 6.9 → 7
    found = collection(seeds=10_000, tsw_g=75, purity=0.9, extraction_yield=0.2, fruit_kg_per_mother=3)

    assert found.clean_g == pytest.approx(833.33, abs=0.005)
    assert found.fruit_kg == pytest.approx(4.1667, abs=5e-5)
    assert found.mothers == 7


def test_the_published_chain_from_seed_to_trees() -> None:
    # Robbins in Willan 1985, A Guide to Forest Seed Handling, FAO Forestry Paper 20/2: 200 kg of seed at 1 kg per
    # 400 L of cones are 80,000 L; at 33 L a tree 2,424 trees (printed as 2,400), rounded up 2,425. Litres stand
    # in the place of kilograms: the chain is the same.
    found = collection(seeds=200_000, tsw_g=1000, extraction_yield=1 / 400, fruit_kg_per_mother=33, max_share=1)

    assert found.clean_g == pytest.approx(200_000)
    assert found.fruit_kg == pytest.approx(80_000)
    assert found.mothers == 2425
    assert found.fruit_kg / 33 == pytest.approx(2424, abs=0.5)


@given(seeds=st.integers(1, 10**7), tsw=st.floats(0.01, 5000), crop=st.floats(0.05, 300), share=st.floats(0.01, 1))
def test_the_mothers_carry_the_fruit_and_none_is_too_many(
    seeds: int, tsw: float, crop: float, share: float
) -> None:
    found = collection(seeds=seeds, tsw_g=tsw, extraction_yield=0.1, fruit_kg_per_mother=crop, max_share=share)

    assert found.mothers * crop * share >= found.fruit_kg - 1e-6 * max(float(found.fruit_kg), 1)
    assert (found.mothers - 1) * crop * share < found.fruit_kg


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("extraction_yield", 0),
        ("extraction_yield", 1.5),
        ("fruit_kg_per_mother", 0),
        ("max_share", 0),
        ("tsw_g", 0),
    ],
)
def test_values_outside_their_range_are_refused(name: str, value: float) -> None:
    line = {"seeds": 10, "tsw_g": 1, "extraction_yield": 0.5, "fruit_kg_per_mother": 1}

    with pytest.raises(ValueError, match=name):
        collection(**{**line, name: value})
