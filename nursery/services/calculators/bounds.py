"""Bounds that several calculators share; generous, to catch slips of the keyboard. Common practice, no source."""

from nursery.services.limits import Bounds

#: Below this a fraction that something is divided by is a slip, and results run off every scale.
POSITIVE = Bounds(0.0001, 1)
#: A loss after which something is left.
LOSS = Bounds(0, 0.9999)
CHANCE = Bounds(0, 1, above=True, below=True)
PLANTS = Bounds(0, 100_000_000)
SEEDS_PER_CELL = Bounds(1, 100)
CELLS_PER_TRAY = Bounds(1, 10_000)
#: Dust seed of orchids weighs some thousandths of this unit (from memory).
TSW_G = Bounds(0.00001, 100_000)
COUNT = Bounds(1, 1_000_000)
GRAMS = Bounds(0, 1_000_000)
GRAMS_ABOVE_0 = Bounds(0.000001, 1_000_000)
