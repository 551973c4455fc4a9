"""Seed tests against published examples, each with its source."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.seedtests import (
    germination_test,
    moisture_content,
    pure_live_seed,
    seed_weight,
    seeds_per_kg,
)

#: AOSA Rules, Appendix 4 tutorial, FRSA 2001: 8 × 100 seeds of Dimorphotheca sinuata, g.
DIMORPHOTHECA = [0.2224, 0.2134, 0.2130, 0.2116, 0.2145, 0.2071, 0.2116, 0.2125]


def test_weight_of_the_published_eight_replicates() -> None:
    found = seed_weight(DIMORPHOTHECA)

    # Data and variance formula from the tutorial; results computed from them.
    assert found.tsw_g == pytest.approx(2.132625)
    assert found.sd_g == pytest.approx(0.0042962, abs=5e-8)
    assert found.sd_g**2 == pytest.approx(1.84570e-05, rel=1e-5)
    assert found.cv_pct == pytest.approx(2.0145, abs=5e-5)
    assert found.accepted
    assert 1000 / found.tsw_g == pytest.approx(468.9, abs=0.05)
    assert 2.5 * found.tsw_g == pytest.approx(5.3316, abs=5e-5)


@pytest.mark.parametrize(
    ("spread", "chaffy", "accepted"),
    # Limits 4.0 % and 6.0 %: from memory of the testing rules.
    [(0.039, False, True), (0.041, False, False), (0.059, True, True), (0.061, True, False)],
)
def test_the_limit_of_variation_depends_on_the_kind_of_seed(spread: float, chaffy: bool, accepted: bool) -> None:
    # Two replicates 1 ± d have a standard deviation of d·√2.
    d = spread / np.sqrt(2)

    assert bool(seed_weight([1 + d, 1 - d], chaffy=chaffy).accepted) is accepted


def test_many_lots_are_weighed_together() -> None:
    found = seed_weight([DIMORPHOTHECA, [x * 2 for x in DIMORPHOTHECA]], [100, 200])

    assert found.tsw_g == pytest.approx([2.132625, 2.132625])


@pytest.mark.parametrize(
    ("bulk", "purity", "germination"),
    [
        # Establishment of Seeded Grasslands for Wildlife Habitat in the Prairie Pothole Region, Table 4 (USGS
        # Northern Prairie Wildlife Research Center, after USDA-SCS Job Sheet ND-20, 1980): bulk seed for one of
        # pure live seed.
        (1.25, 100, 80),
        (1.3, 95, 80),
        (1.25, 90, 90),
        (1.4, 85, 85),
        (1.65, 80, 75),
        (1.8, 75, 75),
        (2.4, 70, 60),
        (3.35, 60, 50),
        (3.35, 55, 55),
        (4.0, 50, 50),
    ],
)
def test_bulk_seed_for_one_of_pure_live_seed(bulk: float, purity: int, germination: int) -> None:
    # The table rounds to about 0.05; all its cells are within 0.045 of the exact value.
    assert abs(1 / pure_live_seed(purity / 100, germination / 100) - bulk) <= 0.045


def test_the_whole_table_of_purity_and_germination_is_their_product() -> None:
    percent = np.arange(50, 101, 5)

    table = pure_live_seed(percent[:, None] / 100, percent / 100)

    assert table.shape == (11, 11)
    assert np.allclose(10_000 / (percent[:, None] * percent), 1 / table)


def test_pure_live_seed_of_the_glossary_example() -> None:
    # Rangelands Gateway glossary, "Pure Live Seed": purity 96 %, germination 91 % → 87.36 %.
    assert pure_live_seed(0.96, 0.91) == pytest.approx(0.8736)


@pytest.mark.parametrize(
    ("viable", "germination", "together"),
    [
        # Int. J. Ecology 2016, 7614683, Table 2, %: inputs are rounded means, so within 1.1 points.
        (79, 14, 11),
        (36, 91, 33),
        (73, 99, 73),
        (50, 68, 33),
        (59, 92, 54),
        (100, 67, 67),
        (98, 97, 94),
    ],
)
def test_potential_germination_is_viable_times_germination(viable: int, germination: int, together: int) -> None:
    assert abs(100 * pure_live_seed(viable / 100, germination / 100) - together) <= 1.1


@pytest.mark.parametrize(("per_lb", "per_kg"), [(39_000, 85_980), (137_000, 302_033), (12_000, 26_455)])
def test_seeds_per_kilogram_from_seeds_per_pound(per_lb: int, per_kg: int) -> None:
    # Seeds per lb: Raising Forest Tree Seedlings at Home, App. 6.1; per kg computed (1 kg = 2.20462 lb).
    tsw = 1000 * 1000 / (per_lb * 2.20462)

    assert seeds_per_kg(tsw) == pytest.approx(per_kg, abs=1)


def test_moisture_by_hand() -> None:
    # (10 − 9.5) ÷ (10 − 5)
    assert moisture_content(5, 10, 9.5) == pytest.approx(10)


def test_drying_from_25_to_14_percent_leaves_872_of_1000() -> None:
    # IRRI Rice Knowledge Bank: 1,000 kg at 25 % dried to 14 % are 872 kg.
    assert moisture_content(0, 1000, 750) == pytest.approx(25)
    assert moisture_content(0, 872.09, 750) == pytest.approx(14, abs=0.001)


@given(empty=st.floats(0, 50), seed=st.floats(0.1, 100), water=st.floats(0, 1))
def test_moisture_lies_between_none_and_all(empty: float, seed: float, water: float) -> None:
    found = moisture_content(empty, empty + seed, empty + seed * (1 - water))

    assert found == pytest.approx(100 * water, abs=1e-6)


def test_a_germination_test_within_tolerance() -> None:
    found = germination_test([85, 90, 88, 81])

    # Mean 86 → tolerance 14 (7 CFR § 201.55(a)); range 9.
    assert (found.mean_pct, found.range_pct, found.tolerance_pct, found.accepted) == (86, 9, 14, True)


def test_replicates_too_far_apart_are_not_accepted() -> None:
    found = germination_test([99, 90, 99, 92])

    # Mean 95 → tolerance 9; range 9 is still tolerated, 10 is not.
    assert (found.mean_pct, found.range_pct, found.accepted) == (95, 9, True)
    assert germination_test([100, 90, 98, 92]).accepted is False


@pytest.mark.parametrize("counts", [[50], [101, 90], [-1, 50]])
def test_impossible_counts_are_refused(counts: list[int]) -> None:
    with pytest.raises(ValueError, match="germinated"):
        germination_test(counts)


@pytest.mark.parametrize("weights", [[1.0], [0.0, 1.0], [-1.0, 1.0]])
def test_impossible_weights_are_refused(weights: list[float]) -> None:
    with pytest.raises(ValueError, match="replicates_g"):
        seed_weight(weights)


@pytest.mark.parametrize(("empty", "fresh", "dry"), [(5, 5, 5), (5, 10, 11), (5, 10, 4)])
def test_weights_in_the_wrong_order_are_refused(empty: float, fresh: float, dry: float) -> None:
    with pytest.raises(ValueError, match="empty"):
        moisture_content(empty, fresh, dry)
