"""From what was counted to the plants of the batch: every tray, or some of them with the interval they leave."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.planning.sampling import inventory
from nursery.services.batches.moving import MOST
from nursery.services.batches.words import trays_text


@dataclass(frozen=True, slots=True)
class Estimate:
    """Plants of the whole batch with their 95 % interval, and how many more trays a wanted precision takes."""

    plants: int
    low: int
    high: int
    trays: int
    #: What was seen in each tray looked at; empty in a full count.
    sample: tuple[int, ...] | None
    #: Trays to look at beyond those, for half an interval of 10 % of the plants.
    more_trays: int = 0


def estimate(*, plants: int | None, sample: Sequence[int] | None, trays: int) -> Estimate:
    """A full count, or the stock by simple random sample of trays (`planning.sampling.inventory`).

    Raises
    ------
    Invalid
        At ``plants``, ``sample`` or ``trays``, in words.
    """
    if (plants is None) == (sample is None):
        raise Invalid({"plants": _("Give the plants of the whole batch, or those of each tray looked at.")})
    if trays < 1:
        raise Invalid({"trays": _("Give the trays it stands in, one or more.")})
    if sample is None:
        if plants is None or not 0 <= plants <= MOST:
            raise Invalid({"plants": _("Give the plants counted: 0 or more.")})
        return Estimate(plants, plants, plants, trays, None)
    if any(not 0 <= one <= MOST for one in sample):
        raise Invalid({"sample": _("Each tray holds 0 plants or more. Check the numbers.")})
    if len(sample) > trays:
        raise Invalid(
            {
                "sample": _(
                    "These are the plants of %(sampled)s, but the batch stands in %(trays)s. Leave some out, or"
                    " correct the trays.",
                    sampled=trays_text(len(sample)),
                    trays=trays_text(trays),
                )
            }
        )
    if len(sample) == trays:  # every tray was looked at
        return Estimate(sum(sample), sum(sample), sum(sample), trays, None)
    if len(sample) < 2:
        raise Invalid({"sample": _("Count at least two trays; one says nothing of how trays differ.")})
    found = inventory(sample, trays)
    total = round(found.total)
    return Estimate(
        plants=total,
        # Never fewer than were seen.
        low=min(max(math.floor(found.low + 1e-9), sum(sample)), total),
        high=max(math.ceil(found.high - 1e-9), total),
        trays=trays,
        sample=tuple(sample),
        more_trays=max(found.samples_needed - len(sample), 0),
    )
