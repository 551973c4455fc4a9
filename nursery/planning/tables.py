"""Distributions on (0, 1) tabulated in u = logit x, so that chances can be read off without special functions.

Grids are evenly spaced in τ with u = centre + scale·sinh τ: close together in the core, far apart in the
exponential tails. On them the trapezoid rule is accurate far beyond need. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import special

#: Points of a table where a single stage must be right to the last plant.
FINE_GRID = 256


@dataclass(frozen=True)
class Grid:
    """Per line (shape (lines, 1)): τ = first + step·(0 … size − 1), u = centre + scale·sinh τ."""

    centre: Floats
    scale: Floats
    first: Floats
    step: Floats
    size: int

    @property
    def tau(self) -> Floats:
        """Evenly spaced places, shape (lines, size)."""
        return np.asarray(self.first + self.step * np.arange(self.size))

    def u(self, tau: Floats) -> Floats:
        """Logits at places τ."""
        return np.asarray(self.centre + self.scale * np.sinh(tau))


@dataclass(frozen=True)
class Table:
    """P(U ≥ u) on a grid, with its slope per step, read between the points by a cubic."""

    grid: Grid
    above: Floats
    slope: Floats

    def at(self, rows: Ints, u: Floats) -> Floats:
        """P(U ≥ u) for ``u`` of shape (len(rows), n)."""
        grid = self.grid
        tau = np.arcsinh((u - grid.centre[rows]) / grid.scale[rows])
        place = (tau - grid.first[rows]) / grid.step[rows]
        cell = np.clip(place, 0, grid.size - 2).astype(np.int64)
        t = np.clip(place - cell, 0.0, 1.0)
        at = cell + rows[:, None] * grid.size
        left, right = self.above.take(at), self.above.take(at + 1)
        rise = right - left
        bow = (self.slope.take(at) - rise) * (1 - t) - (self.slope.take(at + 1) - rise) * t
        return np.asarray(left + t * (rise + (1 - t) * bow))


def beta_grid(a: Floats, b: Floats, size: int) -> Grid:
    """Where Beta(a, b) has its mass.

    The core is normal with the scale of the curvature at the mode; tails fall as exp(a·u) and exp(−b·u). The
    range reaches 6.5 scales or e^−28 of the tail, whichever is farther.
    """
    a, b = a[:, None], b[:, None]
    scale = np.sqrt(1 / a + 1 / b)
    first = -np.arcsinh(np.maximum(6.5, 28 / (a * scale)))
    last = np.arcsinh(np.maximum(6.5, 28 / (b * scale)))
    return Grid(np.log(a / b), scale, first, (last - first) / (size - 1), size)


def beta_samples(a: Floats, b: Floats, size: int) -> tuple[Floats, Floats]:
    """Points u = logit x and weights (summing to 1) that stand for Beta(a, b)."""
    grid = beta_grid(a, b, size)
    u, rate = _beta_rate(a, b, grid)
    return u, rate / rate.sum(1, keepdims=True)


def beta_table(a: Floats, b: Floats, size: int) -> Table:
    """Beta(a, b) as a table."""
    grid = beta_grid(a, b, size)
    return table_of(grid, _beta_rate(a, b, grid)[1])


def table_of(grid: Grid, rate: Floats) -> Table:
    """Table from the density per step at the grid's points, up to a constant factor.

    Mass between neighbours by the rule (−f₋₁ + 13 f₀ + 13 f₁ − f₂) ÷ 24.
    """
    f = np.pad(rate, ((0, 0), (1, 1)))
    between = np.maximum((13 * (f[:, 1:-2] + f[:, 2:-1]) - f[:, :-3] - f[:, 3:]) / 24, 0.0)
    above = np.zeros_like(rate)
    above[:, :-1] = between[:, ::-1].cumsum(1)[:, ::-1]
    total = np.maximum(above[:, :1], 1e-300)
    return Table(grid, above / total, -rate / total)


def _beta_rate(a: Floats, b: Floats, grid: Grid) -> tuple[Floats, Floats]:
    tau = grid.tau
    u = grid.u(tau)
    low = special.log_expit(u)
    height = a[:, None] * low + b[:, None] * (low - u)
    return u, np.exp(height - height.max(1, keepdims=True)) * np.cosh(tau)
