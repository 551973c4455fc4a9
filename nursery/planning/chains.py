"""The product of independent stage rates as a distribution, and the chance that enough plants come through.

With N starts and the product R of the rates, the plants that come through are Binomial(N, R), and
P(plants ≥ v | R) = P(B ≤ R) for B ~ Beta(v, N − v + 1). The chance wanted, P(B ≤ R), is one integral over two
smooth distributions: the narrower of B and R is sampled, the wider one is read from a table.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import special
from nursery.planning.stages import Product, Stage, moments, product_of, stage_of
from nursery.planning.tables import FINE_GRID, beta_samples, beta_table

GRID = 64
SAMPLES = 48
#: Where one stage alone varies the answer must be right to the last plant.
FINE_SAMPLES = 80
#: A mean this near to 0 or 1 is taken for it.
RARE = 1e-12


@dataclass(frozen=True)
class Chain:
    """Distribution of R for all lines; made by `chain_of`.

    ``alone`` is the stage that varies where only one does, ``scaling`` the fixed rates beside it; ``product``
    and its ``points`` serve lines where several vary. ``place`` is a line's row in the one or the other.
    """

    mean: Floats
    squared_cv: Floats
    varying: Ints
    place: Ints
    scaling: Floats
    alone: Stage
    product: Product
    points: Floats
    mass: Floats

    def chance(self, rows: Ints, start: Ints, least: Ints) -> Floats:
        """P(plants ≥ least) for lines ``rows`` with ``start`` starts each."""
        out = np.where(least <= 0, 1.0, 0.0)
        live = np.flatnonzero((least > 0) & (least <= start))
        lines, v = rows[live], least[live].astype(np.float64)
        w = start[live] - v + 1
        narrow = w / (v * (start[live] + 2)) <= self.squared_cv[lines]
        varying = self.varying[lines]
        for choose, method in (
            (varying == 0, self._fixed_rate),
            ((varying == 1) & narrow, self._one_by_count),
            ((varying == 1) & ~narrow, self._one_by_rate),
            ((varying > 1) & narrow, self._several_by_count),
            ((varying > 1) & ~narrow, self._several_by_rate),
        ):
            at = np.flatnonzero(choose)
            if at.size:
                out[live[at]] = method(lines[at], v[at], w[at])
        return np.clip(out, 0.0, 1.0)

    def _fixed_rate(self, rows: Ints, v: Floats, w: Floats) -> Floats:
        return np.asarray(special.betainc(v, w, self.mean[rows]))

    def _one_by_count(self, rows: Ints, v: Floats, w: Floats) -> Floats:
        u, weights = beta_samples(v, w, FINE_SAMPLES)
        log_y = special.log_expit(u) - np.log(self.scaling[rows, None])
        return np.asarray((weights * self.alone.above(self.place[rows], log_y)).sum(-1))

    def _one_by_rate(self, rows: Ints, v: Floats, w: Floats) -> Floats:
        at, scaling = self.place[rows], self.scaling[rows, None]
        logit_g, weights = beta_samples(self.alone.a[at], self.alone.b[at], FINE_SAMPLES)
        log_room = special.log_expit(-logit_g) * self.alone.k[at, None]
        x = -np.expm1(log_room) * scaling
        # Near 1 the distance to 1 must not be lost where nothing is scaled.
        log_rest = np.where(scaling == 1, log_room, np.log1p(-np.minimum(x, 1 - 1e-16)))
        return self._below(v, w, np.log(np.maximum(x, 1e-300)) - log_rest, weights, FINE_GRID)

    def _several_by_count(self, rows: Ints, v: Floats, w: Floats) -> Floats:
        u, weights = beta_samples(v, w, SAMPLES)
        return np.asarray((weights * self.product.at(self.place[rows], special.log_expit(u))).sum(-1))

    def _several_by_rate(self, rows: Ints, v: Floats, w: Floats) -> Floats:
        at = self.place[rows]
        x = np.clip(self.points[at], 1e-300, 1 - 1e-16)
        return self._below(v, w, np.log(x) - np.log1p(-x), self.mass[at], GRID)

    def _below(self, v: Floats, w: Floats, u: Floats, weights: Floats, size: int) -> Floats:
        below = 1 - beta_table(v, w, size).at(np.arange(len(v)), u)
        return np.asarray((weights * below).sum(-1))


def chain_of(mean: Floats, weight: Floats, seeds_per_cell: Ints) -> Chain:
    """Distribution of the product of stages.

    Parameters
    ----------
    mean, weight : ndarray, shape (lines, stages)
        Stage rates Beta(mean·weight, (1 − mean)·weight); mean 0 or 1, or infinite weight, is a fixed rate.
    seeds_per_cell : ndarray of int, shape (lines,)
        k: the first stage g counts as 1 − (1 − g)^k.
    """
    fixed = (mean <= RARE) | (mean >= 1 - RARE) | np.isinf(weight)
    mean = np.where(mean <= RARE, 0.0, np.where(mean >= 1 - RARE, 1.0, mean))
    trials, chance = np.where(fixed, 2.0, weight), np.where(fixed, 0.5, mean)
    a, b = chance * trials, (1 - chance) * trials
    k = np.ones(mean.shape, np.int64)
    k[:, 0] = seeds_per_cell
    value = 1 - (1 - mean) ** k
    average, cv2 = moments(a, b, k)
    cv2 = np.where(fixed, 0.0, cv2)
    average = np.where(fixed, value, average)
    scaling = np.prod(np.where(fixed, value, 1.0), axis=1)
    varying = (~fixed & (scaling > 0)[:, None]).sum(1)
    # Stages that vary first, in their order; the rest of a line is filled with fixed ones.
    order = np.argsort(fixed, axis=1, kind="stable")
    a, b, k, fixed = (np.take_along_axis(z, order, 1) for z in (a, b, k, fixed))
    one, several = np.flatnonzero(varying == 1), np.flatnonzero(varying > 1)
    place = np.zeros(len(mean), np.int64)
    place[one], place[several] = np.arange(len(one)), np.arange(len(several))
    expected = np.prod(average, axis=1)
    product = _multiplied(
        a[several],
        b[several],
        k[several],
        varying=varying[several],
        scaling=scaling[several],
        mean=expected[several],
    )
    points, mass = product.points(GRID)
    return Chain(
        expected,
        np.prod(1 + cv2, axis=1) - 1,
        varying,
        place,
        scaling,
        stage_of(a[one, 0], b[one, 0], k[one, 0]),
        product,
        points,
        mass,
    )


def _multiplied(a: Floats, b: Floats, k: Ints, *, varying: Ints, scaling: Floats, mean: Floats) -> Product:
    """Lines of equally many varying stages together, so that no work is spent on absent ones."""
    parts, rows = [], []
    for count in np.unique(varying):
        at = np.flatnonzero(varying == count)
        stages = [stage_of(a[at, s], b[at, s], k[at, s]) for s in range(count)]
        parts.append(product_of(stages, scaling[at], mean[at]))
        rows.append(at)
    if not parts:
        return Product(np.zeros(0), np.ones(0), np.zeros((0, 2)))
    width = max(part.above.shape[1] for part in parts)
    low, step, above = np.empty(len(mean)), np.empty(len(mean)), np.zeros((len(mean), width))
    for at, part in zip(rows, parts, strict=True):
        low[at], step[at], above[at, : part.above.shape[1]] = part.low, part.step, part.above
    return Product(low, step, above)
