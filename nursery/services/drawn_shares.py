"""What is drawn of a lot, divided among the collected lots whose seed is in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nursery.models import Draw, Lot
from nursery.services.ledger.shares import OriginShare


@dataclass(frozen=True, slots=True)
class DrawnShare:
    """The part of a draw that goes back to one collected lot."""

    draw: Draw
    lot: Lot
    origin: Lot
    share: float
    #: Of the whole draw; the parts of one draw sum to it.
    seeds: int
    milligrams: int | None


def divide_draw(draw: Draw, lot: Lot, origins: Sequence[OriginShare]) -> list[DrawnShare]:
    """One part for each origin, in whole seeds and milligrams that sum to the draw's."""
    parts = []
    before = reached = 0.0
    for number, origin in enumerate(origins, 1):
        # The last one takes what is left, so that no rounding of the shares loses a seed.
        reached = 1.0 if number == len(origins) else before + origin.share
        seeds = _between(draw.seeds, before, reached)
        milligrams = None if draw.milligrams is None else _between(draw.milligrams, before, reached)
        parts.append(DrawnShare(draw, lot, origin.lot, origin.share, seeds, milligrams))
        before = reached
    return parts


def divide_draws(
    draws: Sequence[tuple[Draw, Lot]], origins: Mapping[int, Sequence[OriginShare]]
) -> list[DrawnShare]:
    """The parts of several draws, in their order."""
    return [part for draw, lot in draws for part in divide_draw(draw, lot, origins[lot.id])]


def _between(whole: int, before: float, reached: float) -> int:
    return round(whole * reached) - round(whole * before)
