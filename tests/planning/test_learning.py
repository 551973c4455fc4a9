from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import dblquad
from scipy.special import betaln
from statsmodels.genmod.families import Binomial  # type: ignore[import-untyped]
from statsmodels.genmod.generalized_linear_model import GLM  # type: ignore[import-untyped]

from nursery.planning.learning import LOG_SPREAD, learn

CROWDER = {
    # Crowder 1978, Applied Statistics 27:34–37 (the "Seeds" example of OpenBUGS and Stan): germinated of sown.
    "O75-bean": ([10, 23, 23, 26, 17], [39, 62, 81, 51, 39]),
    "O75-cucumber": ([5, 53, 55, 32, 46, 10], [6, 74, 72, 51, 79, 13]),
    "O73-bean": ([8, 10, 8, 23, 0], [16, 30, 28, 45, 4]),
    "O73-cucumber": ([3, 22, 15, 32, 3], [12, 41, 30, 51, 7]),
}


def test_without_evidence_the_catalogue_rate_stands() -> None:
    learned = learn([0.7], [20.0], [], [], [])
    assert (learned.mean[0], learned.weight[0], learned.batches[0]) == (0.7, 20.0, 0)


def test_much_evidence_overrules_the_handbook_and_little_hardly_moves_it() -> None:
    much = learn([0.8], [20.0], [0] * 30, [80] * 30, [200] * 30)
    little = learn([0.8], [20.0], [0], [4], [10])
    assert much.mean[0] == pytest.approx(0.40, abs=0.02)
    assert 0.72 < little.mean[0] < 0.8


def test_crowders_plates_give_his_group_means_and_their_overdispersion_shows() -> None:
    # Pooled by group the data give 0.3640, 0.6814, 0.3984 and 0.5319; a few plates shrink towards one half.
    group = np.repeat(range(4), [len(y) for y, _ in CROWDER.values()])
    y, n = (np.concatenate([plate[k] for plate in CROWDER.values()]) for k in (0, 1))
    learned = learn([0.5] * 4, [2.0] * 4, group, y, n)
    assert learned.mean == pytest.approx([0.364, 0.681, 0.398, 0.532], abs=0.05)
    binomial_only = stats.beta(424, 831 - 424).interval(0.8)
    assert (learned.high - learned.low > binomial_only[1] - binomial_only[0]).all()


def test_the_posterior_agrees_with_plain_integration_by_scipy() -> None:
    m, w, y, n = 0.6, 10.0, 30, 80
    kappa, middle = 2 * w + 1, 2 * w

    def posterior(log_phi: float, mu: float) -> float:
        phi = math.exp(log_phi)
        prior = (m * kappa - 1) * math.log(mu) + ((1 - m) * kappa - 1) * math.log1p(-mu)
        prior -= (log_phi - math.log(middle)) ** 2 / 2 / LOG_SPREAD**2
        return math.exp(
            prior + float(betaln(mu * phi + y, (1 - mu) * phi + n - y) - betaln(mu * phi, (1 - mu) * phi))
        )

    def new_batch(log_phi: float, mu: float) -> float:
        return mu * posterior(log_phi, mu)

    def this_batch(log_phi: float, mu: float) -> float:
        phi = math.exp(log_phi)
        return (mu * phi + y) / (phi + n) * posterior(log_phi, mu)

    span = (math.log(middle) - 4 * LOG_SPREAD, math.log(middle) + 4 * LOG_SPREAD)
    total, new, this = (
        dblquad(integrand, 0.05, 0.98, *span, epsabs=0, epsrel=1e-6)[0]
        for integrand in (posterior, new_batch, this_batch)
    )
    learned = learn([m], [w], [0], [y], [n])
    assert learned.mean[0] == pytest.approx(new / total, abs=0.001)
    assert learned.batch_mean[0] == pytest.approx(this / total, abs=0.001)


def test_group_means_lie_near_those_of_an_overdispersed_binomial_regression() -> None:
    group = np.repeat(range(4), [len(y) for y, _ in CROWDER.values()])
    y, n = (np.concatenate([plate[k] for plate in CROWDER.values()]) for k in (0, 1))
    fitted = GLM(y / n, np.eye(4)[group], family=Binomial(), var_weights=n).fit(scale="X2")
    low, high = 1 / (1 + np.exp(-fitted.conf_int().T))
    learned = learn([0.5] * 4, [2.0] * 4, group, y, n)
    assert fitted.scale > 1  # batches scatter more than the binomial says
    assert ((low < learned.mean) & (learned.mean < high)).all()


def test_a_batch_with_few_trials_leans_on_the_others_and_one_with_many_stands_by_itself() -> None:
    learned = learn([0.5], [20.0], [0] * 12, [30] * 10 + [4, 360], [100] * 10 + [5, 400])
    few, many = learned.batch_mean[-2:]
    assert 0.35 < few < 0.6  # 4 of 5 germinated
    assert 0.82 < many < 0.9  # 360 of 400 did
    assert learned.batch_weight[-1] > learned.batch_weight[-2]


def test_low_and_high_cut_off_the_tails_they_are_asked_to() -> None:
    # Without evidence a new batch comes from the prior; it is drawn here for comparison.
    rng = np.random.default_rng(7)
    mu = rng.beta(0.3 * 21, 0.7 * 21, 400_000)
    phi = 20 * np.exp(LOG_SPREAD * rng.standard_normal(len(mu)))
    drawn = np.quantile(rng.beta(mu * phi, (1 - mu) * phi), [0.1, 0.9])
    learned = learn([0.3], [10.0], [], [], [])
    assert (learned.low[0], learned.high[0]) == (
        pytest.approx(drawn[0], abs=0.004),
        pytest.approx(drawn[1], abs=0.004),
    )


def test_rates_of_nothing_and_of_everything_can_still_be_corrected() -> None:
    learned = learn([0.0, 1.0, 0.0], [20.0] * 3, [0] * 8 + [1] * 8, [30] * 8 + [60] * 8, [100] * 16)
    assert 0.1 < learned.mean[0] < 0.3
    assert 0.6 < learned.mean[1] < 0.9
    assert learned.mean[2] == 0.0


def test_the_order_of_batches_does_not_matter() -> None:
    one = learn([0.5, 0.4], [20.0] * 2, [0, 1, 0, 1], [30, 10, 60, 20], [100] * 4)
    other = learn([0.5, 0.4], [20.0] * 2, [1, 0, 1, 0], [20, 60, 10, 30], [100] * 4)
    assert one.mean == pytest.approx(other.mean, abs=1e-12)
    assert one.batch_mean == pytest.approx(other.batch_mean[::-1], abs=1e-12)


def test_the_interval_holds_about_eighty_percent_of_new_batches_in_simulated_nurseries() -> None:
    rng = np.random.default_rng(20261125)
    nurseries = 1000
    m, w = rng.uniform(0.15, 0.9, nurseries), rng.uniform(5, 40, nurseries)
    mu = rng.beta(m * (2 * w + 1), (1 - m) * (2 * w + 1))
    phi = 2 * w * np.exp(LOG_SPREAD * rng.standard_normal(nurseries))
    batches = rng.integers(1, 13, nurseries)
    group = np.repeat(np.arange(nurseries), batches)
    trials = rng.integers(20, 400, len(group))
    theta = rng.beta((mu * phi)[group], ((1 - mu) * phi)[group])
    learned = learn(m, w, group, rng.binomial(trials, theta), trials)
    new = rng.beta(mu * phi, (1 - mu) * phi, (50, nurseries))  # fifty new batches of each nursery
    covered = (new >= learned.low) & (new <= learned.high)
    found = covered.mean(), covered[:, batches <= 3].mean(), covered[:, batches > 9].mean()
    assert all(0.77 <= share <= 0.83 for share in found)
    # As measured: of all 1,000 nurseries, of those with one to three batches, of those with ten or more.
    assert found == pytest.approx((0.803, 0.808, 0.798), abs=0.002)


def test_more_successes_than_trials_are_refused() -> None:
    with pytest.raises(ValueError, match="more successes than trials"):
        learn([0.5], [10.0], [0], [5], [4])
