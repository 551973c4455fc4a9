"""Making the plan fit its benches: the search, told as moves, and taking over what a target can hold."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Target
from nursery.planning.space.levelling import Levelled, level
from nursery.services import records
from nursery.services.space.moves import Move, read_moves
from nursery.services.space.occupancy import Place, Use
from nursery.services.space.problem import Problem, read_problem
from nursery.services.targets.writing import change_target

#: How long a page may search, in seconds.
SECONDS = 20.0


@dataclass(frozen=True)
class Levelling:
    """What would be done, and the weeks before and after; nothing is written."""

    problem: Problem
    answer: Levelled
    moves: Sequence[Move]

    @property
    def mark(self) -> str:
        """Equal marks mean equal moves: what a person saw is what is taken over."""
        seen = [
            (
                move.item.line_id,
                move.item.batch_id,
                move.plant_on,
                move.is_dropped,
                [trays for _p, trays in move.stands],
            )
            for move in self.moves
        ]
        return hashlib.sha256(repr(seen).encode()).hexdigest()[:32]

    @property
    def shifts(self) -> Sequence[Move]:
        """Moves that can be taken over as pinned planting days."""
        return [move for move in self.moves if move.is_shift]

    def uses(self) -> list[tuple[Place, Use, Use]]:
        """Places that overflow before or after, with their weeks before and after."""
        found = []
        for at, place in enumerate(self.problem.places):
            before, after = (
                Use(place, taken[at], taken[at] * 0, over[at])
                for taken, over in (
                    (self.answer.before, self.answer.over_before), (self.answer.after, self.answer.over_after)
                )
            )  # fmt: skip
            if before.weeks_over or after.weeks_over:
                found.append((place, before, after))
        return found


def read_levelling(session: Session, *, today: dt.date, seconds: float = SECONDS) -> Levelling:
    """Search for the moves by which everything fits."""
    problem = read_problem(session, today=today)
    answer = level(problem.things, problem.options, problem.areas, seconds=seconds)
    return Levelling(problem, answer, read_moves(problem, answer))


def take_over(session: Session, actor: str, *, mark: str, today: dt.date, seconds: float = SECONDS) -> int:
    """Pin the planting days of the shifts on their targets; how many. The plan must be made anew afterwards.

    Raises
    ------
    Conflict
        Where the moves are no longer those that the person saw (``mark``).
    """
    found = read_levelling(session, today=today, seconds=seconds)
    if found.mark != mark:
        raise Conflict(
            _(
                "Something changed since these moves were worked out, and others fit better now. Nothing was"
                " written: look at the new moves."
            )
        )
    for move in found.shifts:
        if move.line is not None:
            target = records.get(session, Target, move.line.row.target_id)
            change_target(session, actor, row=target, values={"plant_on": move.plant_on}, today=today)
    return len(found.shifts)
