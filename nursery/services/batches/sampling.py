"""Which trays to look at, so that nobody picks the fullest."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from nursery.models import Batch

#: Trays worth looking at before anything is known of how they differ; our own choice, no source.
LOOK_AT = 6


def trays_to_look_at(batch: Batch, day: dt.date, most: int = LOOK_AT) -> Sequence[int]:
    """Numbers (from 1, as on the labels) drawn by chance, the same all day for one batch.

    Empty for a batch of few trays, which is better counted whole.
    """
    if batch.trays <= most:
        return []
    chance = np.random.default_rng([batch.id, day.toordinal()])
    return sorted(int(number) + 1 for number in chance.choice(batch.trays, size=most, replace=False))
