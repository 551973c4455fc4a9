"""Assurance, against scipy's beta-binomial for one stage and brute force for several."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import betainc
from scipy.stats import betabinom, binom

from nursery.planning.assurance import MAX_START, evaluate, smallest_start


@settings(max_examples=60, deadline=None)
@given(
    wanted=st.integers(1, 1500),
    sure=st.floats(0.05, 0.97),
    mean=st.floats(0.05, 0.98),
    weight=st.floats(1, 1000),
)
def test_one_stage_is_scipys_beta_binomial_to_the_last_plant(
    wanted: int, sure: float, mean: float, weight: float
) -> None:
    found = smallest_start(wanted, sure, [mean], [weight])
    start = found.start.item()
    if not found.reachable:
        assert evaluate(MAX_START, wanted, [mean], [weight]).probability.item() < sure
        return
    if start > 200_000:
        # scipy sums term by term: too slow there
        assert found.probability.item() >= sure
        return
    law = betabinom(start, mean * weight, (1 - mean) * weight)

    assert found.probability == pytest.approx(law.sf(wanted - 1), abs=1e-6)
    assert law.sf(wanted - 1) >= sure - 1e-6
    before = betabinom(start - 1, mean * weight, (1 - mean) * weight)
    assert start == wanted or before.sf(wanted - 1) < sure + 1e-6
    assert found.expected == pytest.approx(law.mean())
    low, high = found.p10.item(), found.p90.item()
    assert law.cdf(low) >= 0.1 - 1e-6
    assert law.cdf(low - 1) <= 0.1 + 1e-6
    assert law.cdf(high) >= 0.9 - 1e-6
    assert law.cdf(high - 1) <= 0.9 + 1e-6


def test_the_smallest_start_of_one_stage_is_the_one_found_by_trying_all() -> None:
    for wanted, sure, mean, weight in [
        (50, 0.9, 0.7, 20),
        (3, 0.5, 0.2, 4),
        (400, 0.8, 0.9, 100),
        (1, 0.95, 0.5, 2),
    ]:
        a, b = mean * weight, (1 - mean) * weight
        start = next(n for n in range(wanted, 100_000) if betabinom.sf(wanted - 1, n, a, b) >= sure)

        assert smallest_start(wanted, sure, [mean], [weight]).start.item() == start


def chance_by_drawing(
    start: int, wanted: int, means: list[float], weights: list[float], k: int, draws: int = 60_000
) -> float:
    """Brute force: rates drawn, the count's chance exact."""
    rng = np.random.default_rng(20261125)
    rate = np.ones(draws)
    for stage, (mean, weight) in enumerate(zip(means, weights, strict=True)):
        drawn = np.full(draws, mean)
        if 0 < mean < 1 and np.isfinite(weight):
            # stratified over each stage's own distribution, in random order: less noise than plain draws
            drawn = np.sort(rng.beta(mean * weight, (1 - mean) * weight, draws))[rng.permutation(draws)]
        rate *= 1 - (1 - drawn) ** k if stage == 0 else drawn
    return float(betainc(wanted, start - wanted + 1, np.minimum(rate, 1)).mean())


@pytest.mark.parametrize(
    ("wanted", "sure", "means", "weights", "k"),
    [
        (500, 0.8, [0.6, 0.9, 0.95, 0.9], [20, 50, 60, 80], 1),
        (500, 0.9, [0.6, 0.9, 0.95, 0.9], [20, 50, 60, 80], 2),
        (12, 0.75, [0.3, 0.5], [3, 2], 1),
        (3000, 0.5, [0.84, 0.68, 0.93], [2, 500, 13], 5),
        (1, 0.4, [0.33, 0.66, 0.94, 0.19], [1.4, 93, 442, 21], 3),
        (286, 0.45, [0.15, 0.15, 0.24, 0.88], [93, 4.5, 1.2, 9.3], 3),
        (80, 0.9, [0.5, 0.8, 1.0], [10, np.inf, 5], 2),
        (1000, 0.95, [0.99, 0.98, 0.97, 0.99], [300, 200, 100, 500], 1),
    ],
)
def test_several_stages_agree_with_brute_force(
    wanted: int, sure: float, means: list[float], weights: list[float], k: int
) -> None:
    found = smallest_start(wanted, sure, means, weights, seeds_per_cell=k)

    drawn = chance_by_drawing(found.start.item(), wanted, means, weights, k)
    assert found.probability >= sure
    assert abs(found.probability - drawn) <= 0.005


def test_fixed_rates_leave_only_the_counting_chance() -> None:
    found = smallest_start(100, 0.9, [0.5, 0.8, 1.0], [np.inf, np.inf, 3])

    start = found.start.item()
    assert binom.sf(99, start, 0.4) >= 0.9 > binom.sf(99, start - 1, 0.4)
    assert (found.p10, found.p90) == (binom.ppf(0.1, start, 0.4), binom.ppf(0.9, start, 0.4))


def test_certain_stages_need_no_more_than_wanted() -> None:
    found = smallest_start(100, 0.99, [1.0, 1.0], [5, np.inf])

    assert (found.start, found.p10, found.p90, found.probability) == (100, 100, 100, 1)


def test_more_seeds_per_cell_are_the_filled_cells_of_the_first_stage() -> None:
    found = evaluate(1000, 900, [0.6, 0.9], [np.inf, np.inf], seeds_per_cell=3)

    assert found.expected == pytest.approx(1000 * (1 - 0.4**3) * 0.9)


def test_starts_come_in_whole_trays() -> None:
    free = smallest_start(500, 0.8, [0.6, 0.9], [20, 50])
    trays = smallest_start(500, 0.8, [0.6, 0.9], [20, 50], step=60)

    assert trays.start.item() == -(-free.start.item() // 60) * 60
    assert trays.probability >= free.probability


def test_no_plants_wanted_need_no_start() -> None:
    found = smallest_start(0, 0.9, [0.5], [10])

    assert (found.start, found.expected, found.probability, found.reachable) == (0, 0, 1, True)


def test_a_stage_that_kills_all_is_out_of_reach() -> None:
    found = smallest_start([10, 10], 0.9, [[0.0, 0.9], [0.9, 0.9]], 20)

    assert found.reachable.tolist() == [False, True]
    assert (found.start[0], found.probability[0], found.p90[0]) == (0, 0, 0)


def test_evaluating_the_smallest_start_says_the_same() -> None:
    found = smallest_start(500, 0.8, [0.6, 0.9, 0.9], [20, 50, 30])
    again = evaluate(found.start, 500, [0.6, 0.9, 0.9], [20, 50, 30])

    assert {name: value.tolist() for name, value in vars(found).items()} == {
        name: value.tolist() for name, value in vars(again).items()
    }
    assert evaluate(found.start - 1, 500, [0.6, 0.9, 0.9], [20, 50, 30]).probability < 0.8


def test_lines_of_all_kinds_are_worked_together_as_one_by_one() -> None:
    rng = np.random.default_rng(5)
    mean, weight = rng.uniform(0.2, 1, (40, 3)), rng.uniform(2, 100, (40, 3))
    mean[rng.random((40, 3)) < 0.3] = 1.0
    weight[rng.random((40, 3)) < 0.2] = np.inf
    wanted, k = rng.integers(1, 900, 40), rng.integers(1, 4, 40)

    together = smallest_start(wanted, 0.8, mean, weight, seeds_per_cell=k)

    for row in range(40):
        alone = smallest_start(wanted[row], 0.8, mean[row], weight[row], seeds_per_cell=k[row])
        for name, value in vars(alone).items():
            assert value.item() == pytest.approx(getattr(together, name)[row], rel=1e-12)


def test_the_same_input_gives_the_same_answer() -> None:
    one, other = (smallest_start(700, 0.85, [0.5, 0.9], [7, 9]) for _ in range(2))

    assert (one.start, one.probability) == (other.start, other.probability)


def test_a_thousand_lines_of_four_stages_are_worked_in_seconds() -> None:
    rng = np.random.default_rng(1)
    begun = time.process_time()
    found = smallest_start(
        rng.integers(20, 5000, 1000), 0.8, rng.uniform(0.3, 0.97, (1000, 4)), rng.uniform(5, 200, (1000, 4))
    )

    assert found.reachable.all()
    assert time.process_time() - begun < 5


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        ((10, 1.0, [0.5], [10]), "assurance"),
        ((10, 0.0, [0.5], [10]), "assurance"),
        ((10, 0.5, [1.5], [10]), "mean"),
        ((10, 0.5, [0.5], [0]), "weight"),
        ((-1, 0.5, [0.5], [10]), "wanted"),
        ((10, 0.5, [], []), "at least one stage"),
    ],
)
def test_values_outside_their_range_are_refused(arguments: tuple[object, ...], name: str) -> None:
    with pytest.raises(ValueError, match=name):
        smallest_start(*arguments)  # type: ignore[arg-type]


@settings(max_examples=150, deadline=None)
@given(
    wanted=st.integers(1, 10**7),
    sure=st.floats(0.001, 0.999),
    stages=st.lists(st.tuples(st.floats(0, 1), st.floats(0.01, 1e9) | st.just(np.inf)), min_size=1, max_size=6),
    k=st.integers(1, 100),
)
def test_extreme_rates_give_a_consistent_answer(
    wanted: int, sure: float, stages: list[tuple[float, float]], k: int
) -> None:
    means, weights = ([stage[part] for stage in stages] for part in (0, 1))

    found = smallest_start(wanted, sure, means, weights, seeds_per_cell=k)

    assert 0 <= found.probability <= 1
    if found.reachable:
        assert found.start >= wanted
        assert found.probability >= sure
        assert found.p10 <= found.p90 <= found.start
