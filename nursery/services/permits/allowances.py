"""What is left of each permit line, and what the plan still wants to collect under it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Permit, PermitLine, Plan, Population
from nursery.models.permits import AreaKind
from nursery.planning.areas import covers
from nursery.planning.origin.words import NeedSource
from nursery.services.permits.accounts import Account
from nursery.services.permits.books import read_book
from nursery.services.permits.covering import Book, is_named
from nursery.services.permits.words import quantity
from nursery.services.planning.plans import current_plan
from nursery.services.qualifying import read_qualifying

#: Sources that lie where the sites of a need do.
_AT_THE_SITE = {NeedSource.REGION, NeedSource.LOCAL}
#: From this share of its cap on a line is nearly spent; common practice, no source.
NEARLY = 0.8


@dataclass(frozen=True, slots=True)
class Allowance:
    """One line of a permit with its sums; amounts in milligrams, or in pieces."""

    permit: Permit
    line: PermitLine
    taken: Account
    #: Needs of the current plan that may be met under this line.
    needs: Sequence[CollectionNeed]

    @property
    def by_weight(self) -> bool:
        """Whether the line caps a weight (or nothing, and no piece was counted)."""
        if self.line.cap_mg is None and self.line.cap_pieces is None:
            return not self.taken.pieces
        return self.line.cap_mg is not None

    @property
    def cap(self) -> int | None:
        """Most that may be collected; None for no cap."""
        return self.line.cap_mg if self.by_weight else self.line.cap_pieces

    @property
    def collected(self) -> int:
        """What was collected."""
        return self.taken.milligrams if self.by_weight else self.taken.pieces

    @property
    def left(self) -> int | None:
        """What may still be collected, never below zero; None for no cap."""
        return None if self.cap is None else max(0, self.cap - self.collected)

    @property
    def used(self) -> float:
        """Share of the cap that is used up; 0 without a cap."""
        return self.collected / self.cap if self.cap else 0.0

    @property
    def is_nearly_spent(self) -> bool:
        """Whether little is left."""
        return self.used >= NEARLY

    @property
    def wanted(self) -> float:
        """What the current plan still wants to collect here, as collected."""
        return sum(as_collected(need) for need in self.needs if (need.grams is not None) == self.by_weight)

    @property
    def tone(self) -> str:
        """Colour of the bar."""
        if self.cap is not None and self.collected >= self.cap:
            return "stop"
        return "caution" if self.is_nearly_spent else "ok"

    def without(self, amount: int) -> str:
        """What would be left if an amount that was collected did not count."""
        return self.say(None if self.cap is None else max(0, self.cap - self.collected + amount))

    def say(self, amount: float | None) -> str:
        """An amount with its unit."""
        return "" if amount is None else quantity(amount, by_weight=self.by_weight)


def as_collected(need: CollectionNeed) -> float:
    """A need as it is weighed in the field, mg of fruit (of clean seed where no fruit is known), or cuttings."""
    if need.grams is None:
        return need.seeds
    return need.fruit_kg * 1e6 if need.fruit_kg is not None else need.grams * 1e3


def read_allowances(session: Session, book: Book) -> list[Allowance]:
    """Every line of the book's permits, in three queries."""
    plan = current_plan(session)
    needs = _needs(session, plan, book.permits)
    fitting = needs_by_line(session, book.permits, needs)
    return [
        Allowance(permit, line, book.accounts(permit)[line.id], fitting.get(line.id, []))
        for permit in book.permits
        for line in permit.lines
    ]


def uncovered_of(book: Book, permit: Permit) -> dict[int, Account]:
    """Lots that name a permit although it does not cover them, by the line whose cap they use up all the same."""
    found: dict[int, Account] = {}
    for line, taking in book.under(permit):
        if line is None or not taking.amount or taking.is_made:
            continue
        if not book.coverage(taking, permit).is_covered:
            found.setdefault(line.id, Account()).add(line, taking)
    return found


def allowances_by_need(session: Session, needs: Sequence[CollectionNeed]) -> dict[int, list[Allowance]] | None:
    """Permit lines that serve each need by its id, the fullest first; None while no permit is written down."""
    book = read_book(session, species_ids={need.species_id for need in needs})
    if not book.permits:
        return None
    fitting = needs_by_line(session, book.permits, needs)
    found: dict[int, list[Allowance]] = {}
    for permit in book.permits:
        for line in permit.lines:
            for need in fitting.get(line.id, []):
                found.setdefault(need.id, []).append(
                    Allowance(permit, line, book.accounts(permit)[line.id], [need])
                )
    for allowances in found.values():
        allowances.sort(key=lambda a: (a.used, a.permit.id, a.line.id))
    return found


def _needs(session: Session, plan: Plan | None, permits: Iterable[Permit]) -> Sequence[CollectionNeed]:
    if plan is None:
        return []
    species = {line.species_id for permit in permits for line in permit.lines}
    return session.scalars(
        select(CollectionNeed)
        .where(CollectionNeed.plan_id == plan.id, CollectionNeed.species_id.in_(species))
        .order_by(CollectionNeed.opens_on, CollectionNeed.id)
    ).all()


def needs_by_line(
    session: Session, permits: Iterable[Permit], needs: Sequence[CollectionNeed]
) -> dict[int, list[CollectionNeed]]:
    """Needs that may be met under each line: of its species, in its days and its area.

    A need names a region or a basin. A line with named places serves it when it names the same, or a population
    that grows there; a line with an outline when a known population that grows there lies inside. What is not to
    come from there, but from near or far of it, is served where a known population that qualifies lies inside.
    """
    if not needs:
        return {}
    stands = _stands(session, {need.species_id for need in needs})
    qualify = _qualify(session, needs)
    found: dict[int, list[CollectionNeed]] = {}
    for permit in permits:
        for line in permit.lines:
            inside = _inside(line, stands)
            for need in needs:
                in_time = need.opens_on <= permit.valid_to and need.closes_on >= permit.valid_from
                if need.species_id == line.species_id and in_time and _serves(line, need, inside, qualify):
                    found.setdefault(line.id, []).append(need)
    return found


def _stands(session: Session, species_ids: Iterable[int]) -> Sequence[Population]:
    return session.scalars(
        select(Population)
        .where(Population.species_id.in_(species_ids), Population.archived_at.is_(None))
        .order_by(Population.id)
    ).all()


def _inside(line: PermitLine, stands: Sequence[Population]) -> list[Population]:
    """Known populations of the line's species within its area."""
    own = [stand for stand in stands if stand.species_id == line.species_id]
    if line.area_kind is AreaKind.PLACES:
        return [stand for stand in own if is_named(line, stand.code, stand.region_code, stand.basin)]
    if line.area_kind is AreaKind.POLYGON and own:
        held = covers(line.polygon or {}, [stand.longitude for stand in own], [stand.latitude for stand in own])
        return [own[at] for at in np.flatnonzero(held)]
    return own


def _qualify(session: Session, needs: Sequence[CollectionNeed]) -> set[tuple[int, int]]:
    """Pairs of a need that looks beyond its own region and a population that qualifies for it."""
    found: set[tuple[int, int]] = set()
    beyond = [need for need in needs if need.source not in _AT_THE_SITE]
    for plan in {need.plan_id: need.plan for need in beyond}.values():
        own = [need for need in beyond if need.plan_id == plan.id]
        pairs, _elsewhere = read_qualifying(session, own, plan.created_at.date())
        if len(pairs):
            found |= set(zip(pairs["need"].tolist(), pairs["population_id"].tolist(), strict=True))
    return found


def _serves(
    line: PermitLine, need: CollectionNeed, inside: Sequence[Population], qualify: Collection[tuple[int, int]]
) -> bool:
    if line.area_kind is AreaKind.ANYWHERE:
        return True
    if need.source not in _AT_THE_SITE:
        return any((need.id, stand.id) in qualify for stand in inside)
    return is_named(line, need.region_code, need.basin) or any(
        stand.region_code == need.region_code if need.region_code else stand.basin == need.basin
        for stand in inside
    )
