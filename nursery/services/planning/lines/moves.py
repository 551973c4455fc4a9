"""Which draws a new plan moves: seed of a lot that goes from one target to another, or to or from the store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Draw, Plan, PlanLine
from nursery.services.seasons import season_name

#: A lot and a target.
Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Move:
    """Seeds (or cuttings) of one lot; an empty name is the store."""

    lot_id: int
    lot_code: str
    species_name: str
    seeds: int
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class DrawMoves:
    """What moved, the largest first, and how many of the older plan's draws serve the same target still."""

    moves: Sequence[Move]
    stay: int
    of: int


@dataclass(frozen=True, slots=True)
class _Drawn:
    seeds: int
    lot_code: str
    species_name: str
    name: str


def draw_moves(session: Session, before: Plan, after: Plan) -> DrawMoves:
    """Compare the draws of two plans, in two queries."""
    old, new = _drawn(session, before), _drawn(session, after)
    return DrawMoves(
        sorted(_moves(old, new), key=lambda move: (-move.seeds, move.lot_code, move.before, move.after)),
        len(old.keys() & new.keys()),
        len(old),
    )


def _moves(old: Mapping[Pair, _Drawn], new: Mapping[Pair, _Drawn]) -> list[Move]:
    """What targets lose of a lot goes to those that gain of it, in their order; the rest to or from the store."""
    given: defaultdict[int, list[_Drawn]] = defaultdict(list)
    taken: defaultdict[int, list[_Drawn]] = defaultdict(list)
    for pair in dict.fromkeys([*old, *new]):
        one, two = old.get(pair), new.get(pair)
        change = (two.seeds if two else 0) - (one.seeds if one else 0)
        drawn = two or one
        if change and drawn is not None:
            (taken if change > 0 else given)[pair[0]].append(replace(drawn, seeds=abs(change)))
    return [
        move
        for lot_id in dict.fromkeys([*given, *taken])
        for move in _matched(lot_id, given[lot_id], taken[lot_id])
    ]


def _matched(lot_id: int, given: Sequence[_Drawn], taken: Sequence[_Drawn]) -> Iterator[Move]:
    """One move for each stretch of seed that has the same source and the same goal."""
    named = [*given, *taken][0]
    froms, tos = (_edges(side) for side in (given, taken))
    edges = sorted({edge for edge, _name in (*froms, *tos)})
    for start, end in pairwise([0, *edges]):
        names = [next((name for edge, name in side if edge >= end), "") for side in (froms, tos)]
        yield Move(lot_id, named.lot_code, named.species_name, end - start, names[0], names[1])


def _edges(side: Sequence[_Drawn]) -> list[tuple[int, str]]:
    return list(zip(accumulate(drawn.seeds for drawn in side), (drawn.name for drawn in side), strict=True))


def _drawn(session: Session, plan: Plan) -> dict[Pair, _Drawn]:
    rows = session.execute(
        select(
            Draw.lot_id, PlanLine.target_id, func.sum(Draw.seeds), func.max(Draw.lot_code),
            func.max(PlanLine.species_name), func.max(PlanLine.site_name), func.max(PlanLine.season),
        )
        .join(Draw.line)
        .where(PlanLine.plan_id == plan.id)
        .group_by(Draw.lot_id, PlanLine.target_id)
        .order_by(Draw.lot_id, PlanLine.target_id)
    )  # fmt: skip
    return {
        (lot_id, target_id): _Drawn(int(seeds), code, species, f"{site}, {season_name(season)}")
        for lot_id, target_id, seeds, code, species, site, season in rows
    }
