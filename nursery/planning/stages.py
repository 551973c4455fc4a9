"""One stage of growth as a distribution, and several multiplied together on a common logarithmic grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import special
from nursery.planning.tables import FINE_GRID, Table, beta_table

BINS = 512
#: Mass left out at either end of a stage; far below what the answer is asked for.
_TAIL = 1e-5


@dataclass(frozen=True)
class Stage:
    """y = 1 − (1 − g)^k with g ~ Beta(a, b); one element per line, with the table of logit g."""

    a: Floats
    b: Floats
    k: Ints
    table: Table

    def above(self, rows: Ints, log_y: Floats) -> Floats:
        """P(stage ≥ y) from log y, shape (len(rows), n); 0 where y is 1 or more."""
        inside = log_y < 0
        log_room = np.log(-np.expm1(np.where(inside, log_y, -1.0))) / self.k[rows, None]
        log_g = np.log(np.maximum(-np.expm1(log_room), 1e-300))
        return np.where(inside, self.table.at(rows, log_g - log_room), 0.0)

    def log_y(self, logit_g: Floats) -> Floats:
        """Log of the stage's rate where one seed has logit g, lines × n."""
        return np.log(np.maximum(-np.expm1(special.log_expit(-logit_g) * self.k[:, None]), 1e-300))

    def window(self) -> tuple[Floats, Floats]:
        """Where log y has nearly all its mass."""
        grid, above = self.table.grid, self.table.above
        ends = ((above > 1 - _TAIL).sum(1) - 1, (above >= _TAIL).sum(1))
        places = np.stack([np.clip(end, 0, grid.size - 1) for end in ends], axis=1)
        log_y = self.log_y(grid.u(grid.first + grid.step * places))
        return log_y[:, 0], log_y[:, 1]


def stage_of(a: Floats, b: Floats, k: Ints) -> Stage:
    """A stage for each line."""
    return Stage(a, b, k, beta_table(a, b, FINE_GRID))


def moments(a: Floats, b: Floats, k: Ints) -> tuple[Floats, Floats]:
    """Mean and squared coefficient of variation of 1 − (1 − g)^k for g ~ Beta(a, b), exact.

    From E (1 − g)^k = Π (b + j) ÷ (a + b + j), in logarithms so that neither rare nor sure rates lose digits.
    """
    empty = np.zeros_like(a)
    apart = np.zeros_like(a)
    for j in range(int(k.max(initial=1))):
        once = np.log1p(-a / (a + b + j))
        again = np.log1p(-a / (a + b + k + j))
        empty += np.where(j < k, once, 0.0)
        apart += np.where(j < k, again - once, 0.0)
    mean = -np.expm1(empty)
    return mean, np.maximum(np.exp(2 * empty) * np.expm1(apart) / mean**2, 0.0)


@dataclass(frozen=True)
class Product:
    """Distribution of log R: chance of at least exp(low + j·step) at the edges j = 0 … bins."""

    low: Floats
    step: Floats
    above: Floats

    def at(self, rows: Ints, log_x: Floats) -> Floats:
        """P(R ≥ x) from log x, shape (len(rows), n)."""
        bins = self.above.shape[1] - 1
        place = np.clip((log_x - self.low[rows, None]) / self.step[rows, None], 0, bins)
        cell = np.minimum(place.astype(np.int64), bins - 1)
        at = cell + rows[:, None] * (bins + 1)
        left = self.above.take(at)
        return np.asarray(left + (place - cell) * (self.above.take(at + 1) - left))

    def points(self, size: int) -> tuple[Floats, Floats]:
        """``size`` neighbouring slices of R that hold its mass: their mean rates and their masses."""
        bins = self.above.shape[1] - 1
        first = (self.above > 1 - _TAIL).sum(1) - 1
        last = np.minimum((self.above >= _TAIL).sum(1), bins)
        edges = np.rint(np.linspace(np.maximum(first, 0), last, size + 1, axis=1)).astype(np.int64)
        edges[:, 0], edges[:, -1] = 0, bins
        rate = np.exp(self.low[:, None] + self.step[:, None] * (np.arange(bins) + 0.5))
        sums = np.pad((-np.diff(self.above) * rate).cumsum(1), ((0, 0), (1, 0)))
        mass = -np.diff(np.take_along_axis(self.above, edges, 1))
        total = np.diff(np.take_along_axis(sums, edges, 1))
        return np.divide(total, mass, out=np.full(mass.shape, 0.5), where=mass > 1e-300), mass


def product_of(stages: list[Stage], scaling: Floats, mean: Floats) -> Product:
    """Multiply stages that all vary or are absent (see `Stage`), times a fixed ``scaling``.

    Each stage's mass is cut into bins of log y of equal width and the bins are convolved. Cutting moves the
    mean by less than a bin a stage; the result is moved back to the exact ``mean``.
    """
    rows = np.arange(len(mean))
    lows, highs = zip(*(stage.window() for stage in stages), strict=True)
    step = np.maximum(sum(high - low for low, high in zip(lows, highs, strict=True)) / BINS, 1e-12)
    size = BINS + 2 * len(stages)
    spectrum = np.ones((len(mean), size // 2 + 1), np.complex128)
    for stage, low in zip(stages, lows, strict=True):
        edges = low[:, None] + step[:, None] * np.arange(BINS + 1)
        above = stage.above(rows, edges)
        above[:, 0] = 1.0
        spectrum *= np.fft.rfft(above[:, :-1] - above[:, 1:], size, axis=1)
    mass = np.maximum(np.fft.irfft(spectrum, size, axis=1), 0.0)
    mass /= mass.sum(1, keepdims=True)
    # Bins are taken at their middle: a sum of middles of all stages is the middle of the sum's bin.
    low = sum(lows) + 0.5 * step * (len(stages) - 1) + np.log(scaling)
    got = (mass * np.exp(low[:, None] + step[:, None] * (np.arange(size) + 0.5))).sum(1)
    above = np.pad(mass[:, ::-1].cumsum(1)[:, ::-1], ((0, 0), (0, 1)))
    most = step * len(stages)
    back = np.clip(np.log(np.maximum(mean, 1e-300) / np.maximum(got, 1e-300)), -most, most)
    return Product(np.asarray(low + back), step, above)
