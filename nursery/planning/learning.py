"""Rates that learn: handbook prior, this nursery's own batches, and a single lot, as one beta-binomial hierarchy.

A nursery's mean for a species and stage is μ; its batches scatter around μ as Beta(μφ, (1 − μ)φ); of n trials
in a batch, y succeed. The catalogue gives the prior as a mean and the trials it is worth. Half of the prior's
variance is taken to be doubt about this nursery's μ and half to be scatter between batches (own convention, no
source); φ is uncertain too, log-normally. The posterior is summed over a grid of μ and φ, so that nothing is drawn
and equal data give equal rates. Form of the model: Gelman et al., *Bayesian Data Analysis*, third edition, chapter
5, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, Ints, amount, counts, fraction
from nursery.planning.heavy import special

MEANS = 64
SPREADS = 12
#: Grid points kept for the interval: all others together hold next to nothing.
KEPT = 400
#: Standard deviation of ln φ around its prior middle. Own convention, no source: a nursery may scatter half or
#: twice as much as the catalogue supposes.
LOG_SPREAD = 0.7
#: A quantile is found when the chance below it is this near to the chance asked for.
CLOSE = 1e-4
STEPS = 60
LOGITS = 30.0
TINY = 1e-12
#: Means of 0 and 1, of which no evidence could make anything else, are taken this far off.
EDGE = 1e-4


@dataclass(frozen=True)
class Learned:
    """One element per rate. ``low`` and ``high`` hold a new batch with the chance asked for (80 % by default)."""

    mean: Floats
    #: Trials that the rate of a new batch is worth: mean and weight make its Beta distribution.
    weight: Floats
    low: Floats
    high: Floats
    #: Trials behind the evidence, and how many batches they came in.
    trials: Ints
    batches: Ints
    #: Between-batch φ, posterior mean: small means that batches differ much.
    batch_precision: Floats
    #: One element per batch: its own count shrunk towards the rate, and the trials that this is worth.
    batch_mean: Floats
    batch_weight: Floats


def learn(
    prior_mean: ArrayLike,
    prior_weight: ArrayLike,
    group: ArrayLike,
    successes: ArrayLike,
    trials: ArrayLike,
    *,
    interval: float = 0.8,
) -> Learned:
    """Rates of new batches, from priors and evidence.

    Parameters
    ----------
    prior_mean, prior_weight : array_like, shape (rates,)
        Catalogue mean, 0–1, and the trials it is worth, above 0.
    group : array_like of int, shape (batches,)
        Which rate each batch is evidence for.
    successes, trials : array_like, shape (batches,)
        Successes among trials, 0 ≤ successes ≤ trials.
    interval : float
        Chance with which ``low``–``high`` holds the rate of a new batch.

    Returns
    -------
    Learned
        A rate without evidence keeps its prior mean and weight.

    Raises
    ------
    ValueError
        For values outside those ranges.
    """
    asked = fraction("prior_mean", np.atleast_1d(prior_mean))
    mean = np.clip(asked, EDGE, 1 - EDGE)
    weight = np.broadcast_to(amount("prior_weight", prior_weight, positive=True), mean.shape)
    rate = counts("group", group)
    hit, tried = (amount(name, value) for name, value in (("successes", successes), ("trials", trials)))
    if np.any(hit > tried):
        raise ValueError("there cannot be more successes than trials")
    grid = _grid(mean, weight)
    chance = _posterior(grid, rate, hit, tried)
    return _summary(grid, chance, interval, asked, weight, rate, hit, tried)


@dataclass(frozen=True)
class _Grid:
    """Shapes (rates, MEANS × SPREADS): the a and b of a batch's Beta, and the log prior of each point.

    ``phi`` is their sum, shape (rates, SPREADS): the same for every μ.
    """

    a: Floats
    b: Floats
    log_prior: Floats
    phi: Floats


def _grid(mean: Floats, weight: Floats) -> _Grid:
    # Var of a new batch = m(1 − m)/(w + 1) is halved between μ ~ Beta(m, κ) and the scatter φ: κ = 2w + 1, φ = 2w.
    kappa, middle = 2 * weight + 1, 2 * weight
    low, high = (_logit_range(mean, kappa, side) for side in (-1.0, 1.0))
    position = (np.arange(MEANS) + 0.5) / MEANS
    mu = 1 / (1 + np.exp(-(low[:, None] + (high - low)[:, None] * position)))
    # On a grid that is even in logits the density is that of the beta times dμ/dlogit = μ(1 − μ).
    log_mu = (mean * kappa)[:, None] * np.log(mu) + ((1 - mean) * kappa)[:, None] * np.log1p(-mu)
    step = special.ndtri((np.arange(SPREADS) + 0.5) / SPREADS)  # points of equal prior chance
    phi = middle[:, None] * np.exp(LOG_SPREAD * step)
    shape = (len(mean), MEANS, SPREADS)
    mus, phis = np.broadcast_to(mu[:, :, None], shape), np.broadcast_to(phi[:, None, :], shape)
    prior = np.broadcast_to(log_mu[:, :, None], shape)
    flat = (len(mean), MEANS * SPREADS)
    return _Grid((mus * phis).reshape(flat), ((1 - mus) * phis).reshape(flat), prior.reshape(flat), phi)


def _logit_range(mean: Floats, kappa: Floats, side: float) -> Floats:
    """Six standard deviations of the logit of μ on either side, so that surprising evidence stays on the grid."""
    centre = np.log(mean / (1 - mean))
    spread = np.sqrt(1 / (mean * kappa) + 1 / ((1 - mean) * kappa))
    return np.asarray(centre + side * np.clip(6 * spread, 2.0, 9.0))


def _posterior(grid: _Grid, rate: Ints, hit: Floats, tried: Floats) -> Floats:
    order = np.argsort(rate, kind="stable")
    rate, hit, tried = rate[order], hit[order], tried[order]
    total = grid.log_prior.copy()
    for start in range(0, len(rate), 1024):  # in slices, so that memory stays small for years of batches
        part = slice(start, start + 1024)
        which, first = np.unique(rate[part], return_index=True)
        total[which] += np.add.reduceat(_likelihood(grid, rate[part], hit[part], tried[part]), first)
    total -= total.max(axis=1, keepdims=True)
    chance = np.exp(total)
    return np.asarray(chance / chance.sum(axis=1, keepdims=True))


def _likelihood(grid: _Grid, rate: Ints, hit: Floats, tried: Floats) -> Floats:
    """Log of B(a + y, b + n − y) ÷ B(a, b), one row per batch."""
    which, at = np.unique(rate, return_inverse=True)
    prior = (special.gammaln(grid.a[which]) + special.gammaln(grid.b[which]))[at]
    phi = grid.phi[rate]
    size = special.gammaln(phi) - special.gammaln(phi + tried[:, None])
    y, n = hit[:, None], tried[:, None]
    batch = special.gammaln(grid.a[rate] + y) + special.gammaln(grid.b[rate] + (n - y)) - prior
    return np.asarray(batch + np.tile(size, MEANS))


def _summary(
    grid: _Grid,
    chance: Floats,
    interval: float,
    mean: Floats,
    weight: Floats,
    rate: Ints,
    hit: Floats,
    tried: Floats,
) -> Learned:
    m, w = _beta_of(chance, grid.a, grid.b)
    batches = np.bincount(rate, minlength=len(mean))
    trials = np.bincount(rate, tried, len(mean))
    known = batches > 0
    m, w = np.where(known, m, mean), np.where(known, w, weight)
    tail = (1 - interval) / 2
    low, high = (_quantile(grid, chance, q, m, w) for q in (tail, 1 - tail))
    precision = (chance * (grid.a + grid.b)).sum(axis=1)
    return Learned(
        m, w, low, high, trials.astype(np.int64), batches, precision, *_batches(grid, chance, rate, hit, tried)
    )


def _beta_of(chance: Floats, a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Mean of a mixture of Beta distributions, and the weight of the one Beta with its mean and variance."""
    first = a / (a + b)
    mean = (chance * first).sum(axis=1)
    variance = (chance * first * (a + 1) / (a + b + 1)).sum(axis=1) - mean**2
    return mean, mean * (1 - mean) / variance - 1


def _batches(grid: _Grid, chance: Floats, rate: Ints, hit: Floats, tried: Floats) -> tuple[Floats, Floats]:
    """Each batch's own rate: where φ is large its count says little against the others', where small much."""
    mean, weight = np.empty(len(rate)), np.empty(len(rate))
    for start in range(0, len(rate), 1024):
        part = slice(start, start + 1024)
        at, y, n = rate[part], hit[part, None], tried[part, None]
        mean[part], weight[part] = _beta_of(chance[at], grid.a[at] + y, grid.b[at] + (n - y))
    return mean, weight


def _quantile(grid: _Grid, chance: Floats, q: float, m: Floats, w: Floats) -> Floats:
    """Quantile of the mixture of batches' Betas: Newton's steps in logits, halving where they stray."""
    best = np.argpartition(-chance, KEPT, axis=1)[:, :KEPT]
    kept, a, b = (np.take_along_axis(table, best, axis=1) for table in (chance, grid.a, grid.b))
    kept = kept / kept.sum(axis=1, keepdims=True)
    log_beta = special.gammaln(a) + special.gammaln(b) - special.gammaln(a + b)
    low, high = np.zeros(len(chance)), np.ones(len(chance))
    m = np.clip(m, EDGE, 1 - EDGE)
    x: Floats = np.clip(special.betaincinv(m * w, (1 - m) * w, q), TINY, 1 - TINY).astype(np.float64)
    left = np.arange(len(x))
    for _ in range(STEPS):
        off = (kept[left] * special.betainc(a[left], b[left], x[left, None])).sum(axis=1) - q
        low[left], high[left] = np.where(off < 0, x[left], low[left]), np.where(off < 0, high[left], x[left])
        far = np.abs(off) >= CLOSE
        left, off = left[far], off[far]
        if not len(left):
            break
        now = x[left]
        logit = np.log(now) - np.log1p(-now)
        # Density per logit: x(1 − x) times that of the beta.
        density = np.exp(a[left] * np.log(now)[:, None] + b[left] * np.log1p(-now)[:, None] - log_beta[left])
        slope = np.maximum((kept[left] * density).sum(axis=1), TINY)
        step = 1 / (1 + np.exp(-np.clip(logit - off / slope, -LOGITS, LOGITS)))
        inside = (step > low[left]) & (step < high[left])
        x[left] = np.where(inside, step, (low[left] + high[left]) / 2)
    return x
