"""Forward from a single mother, a stand or a lot: every lot made from it, every plan line and every planting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Bag, Lot, Plan, Planting, Population
from nursery.planning.flows import walk_on
from nursery.services import records
from nursery.services.flows.reading import (
    MERGED,
    LotFacts,
    Planned,
    Planted,
    flows_below,
    parts_of,
    read_bags,
    read_lots,
    read_planned,
    read_planted,
)
from nursery.services.flows.sent import BatchFacts, Sent, batches_of_lots, read_batches, read_sent


@dataclass(frozen=True, slots=True)
class LotHolding:
    """A lot, and the share of it that comes from what is followed."""

    lot: LotFacts
    share: float
    #: Whether following begins at it.
    first: bool


@dataclass(frozen=True)
class Onward:
    """All that became of something."""

    lots: Sequence[LotHolding]
    #: (from lot, into lot, share of the second that comes from what is followed, by way of the first).
    links: Sequence[tuple[int, int, float]]
    plantings: Sequence[Planted]
    lines: Sequence[Planned]
    #: Batches grown of it, each with the share that comes from what is followed.
    batches: Sequence[tuple[BatchFacts, float]] = ()
    #: What batches sent to sites and no planting tells of yet.
    sent: Sequence[Sent] = ()

    @cached_property
    def shares(self) -> dict[int, float]:
        """Share of each lot, by its id."""
        return {one.lot.id: one.share for one in self.lots}

    @property
    def planted(self) -> float:
        """Plants of it that stand."""
        shares = self.shares
        return sum(row.plants * shares[row.lot_id] for row in self.plantings)

    @property
    def growing(self) -> float:
        """Plants of it that are alive in the nursery."""
        return sum(facts.alive * share for facts, share in self.batches)

    @property
    def dispatched(self) -> float:
        """Plants of it that went to sites and that no planting tells of yet."""
        shares = self.shares
        return sum(row.plants * shares[row.lot_id] for row in self.sent)

    @property
    def planned(self) -> float:
        """Plants of it that the plan grows."""
        shares = self.shares
        return sum(row.plants * shares[row.lot_id] for row in self.lines)


def follow_lot(session: Session, plan: Plan | None, lot_id: int) -> tuple[Lot, Onward]:
    """A lot and what became of it."""
    lot = records.get(session, Lot, lot_id)
    return lot, _follow(session, plan, {lot_id: 1.0}, heeding_bags=False)


def follow_stand(
    session: Session, plan: Plan | None, population_id: int, tag: str = ""
) -> tuple[Population, Onward]:
    """A stand and what became of its seed; of one mother in it where her tag is given.

    A mother tagged alike in two lots of the stand is the same plant.

    Raises
    ------
    NotFound
        When there is no such stand, or no bag of such a mother.
    """
    stand = records.get(session, Population, population_id)
    lots = session.scalars(select(Lot.id).where(Lot.population_id == population_id)).all()
    if not tag:
        made = flows_below(session, select(Lot.id).where(Lot.population_id == population_id), lots)
        # Mixtures stand under the population of their largest part; seed begins where it was collected.
        begin = {int(one): 1.0 for one in made.lots[made.is_collected] if int(one) in set(lots)}
        return stand, _follow(session, plan, begin, heeding_bags=False)
    own = {
        lot_id: sum(share for other, share in bags.items() if other.casefold() == tag.casefold())
        for lot_id, bags in read_bags(session, lots).items()
    }
    begin = {lot_id: share for lot_id, share in own.items() if share}
    if not begin:
        raise NotFound(_("There is no bag “%(tag)s” of %(stand)s.", tag=tag, stand=stand.code))
    return stand, _follow(session, plan, begin, heeding_bags=True)


def list_mothers(session: Session, population_id: int) -> list[str]:
    """Tags of the mothers of a stand, each once."""
    tags = session.scalars(
        select(Bag.tag).join(Lot, Bag.lot_id == Lot.id).where(Lot.population_id == population_id).order_by(Bag.tag)
    )
    return list({tag.casefold(): tag for tag in tags}.values())


def _follow(session: Session, plan: Plan | None, begin: Mapping[int, float], *, heeding_bags: bool) -> Onward:
    if not begin:
        return Onward((), (), (), ())
    flows = flows_below(session, select(Lot.id).where(Lot.id.in_(list(begin))), begin)
    if heeding_bags:  # a made lot with bags of its own holds what those say
        flows = flows.without_inflow(read_bags(session, flows.lots.tolist()))
    share = walk_on(flows, flows.weights(begin))
    ids = flows.lots.tolist()
    held = [ids[at] for at in share.nonzero()[0]]
    facts = read_lots(session, held)
    by_id = dict(zip(ids, share.tolist(), strict=True))
    through = share[flows.parent] * flows.share
    grown = batches_of_lots(session, {one: by_id[one] for one in held})
    plan_id = plan.id if plan else None
    return Onward(
        sorted(
            (LotHolding(facts[one], by_id[one], one in begin) for one in held),
            key=lambda one: (not one.first, -one.share, one.lot.id),
        ),
        [
            (ids[parent], ids[child], part)
            for parent, child, part in zip(
                flows.parent.tolist(), flows.child.tolist(), through.tolist(), strict=True
            )
            if part > 0
        ],
        _planted(session, held, grown),
        _of_lots(held, lambda some: read_planned(session, plan_id, Lot.id.in_(some))) if plan else (),
        sorted(
            ((batch, grown[batch.id]) for batch in read_batches(session, grown).values()),
            key=lambda one: (-one[1], one[0].id),
        ),
        [row for row in read_sent(session, batch_ids=grown) if row.lot_id in by_id and by_id[row.lot_id] > 0],
    )


def _planted(session: Session, held: Sequence[int], grown: Mapping[int, float]) -> list[Planted]:
    """Plantings of the lots, and of batches merged from several lots of which these are some."""
    rows = _of_lots(held, lambda some: read_planted(session, ~MERGED, Planting.lot_id.in_(some)))
    merged = _of_lots(list(grown), lambda some: read_planted(session, MERGED, Planting.batch_id.in_(some)))
    known = set(held)
    return sorted([*rows, *(row for row in merged if row.lot_id in known)], key=lambda row: (row.day, row.id))


def _of_lots(held: Sequence[int], read: Any) -> list[Any]:
    return sorted((row for some in parts_of(held) for row in read(some)), key=lambda row: (row.day, row.id))
