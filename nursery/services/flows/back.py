"""Back from a site: every lot, stand, trip, permit and single mother, with her share of the site's plants."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from nursery.models import Draw, Lot, Plan, PlanLine, Planting, Site
from nursery.planning.flows import Flows, walk_back
from nursery.services import records
from nursery.services.flows.reading import (
    LotFacts,
    Planned,
    Planted,
    flows_above,
    read_bags,
    read_lots,
    read_planned,
    read_planted,
)
from nursery.services.flows.sent import Sent, read_sent


@dataclass(frozen=True, slots=True)
class LotShare:
    """A lot, and the share of the site's plants that passed through it."""

    lot: LotFacts
    share: float
    #: Whether it was collected, not made from others.
    collected: bool


@dataclass(frozen=True, slots=True)
class MotherShare:
    """A single mother, by her tag in her stand, and her share of the site's plants."""

    tag: str
    #: A lot that holds a bag of hers.
    lot: LotFacts
    share: float
    lots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SpeciesWorth:
    """Plants of one species, and how many mothers they are worth; None where some of their lots were pooled."""

    species: str
    plants: float
    mothers: int
    effective: float | None
    #: Codes of the lots whose bags were not kept apart.
    pooled: tuple[str, ...]


@dataclass(frozen=True)
class Origins:
    """Where some plants come from; shares are of all of them."""

    plants: float
    lots: Sequence[LotShare] = ()
    #: (from lot, into lot, share of the plants) of each split and mix behind them.
    links: Sequence[tuple[int, int, float]] = ()
    mothers: Sequence[MotherShare] = ()
    species: Sequence[SpeciesWorth] = ()

    @property
    def known(self) -> float:
        """Share of the plants whose single mothers are known."""
        return sum(mother.share for mother in self.mothers)


@dataclass(frozen=True)
class SiteTrace:
    """A site: what stands there and what the plan grows for it, each with its origins."""

    site: Site
    plantings: Sequence[Planted]
    lines: Sequence[Planned]
    planted: Origins
    planned: Origins
    #: What batches sent here and no planting tells of yet.
    sent_rows: Sequence[Sent] = ()
    sent: Origins = Origins(0.0)


def trace_site(session: Session, plan: Plan | None, site_id: int) -> SiteTrace:
    """The trace back from a site, in a fixed number of queries whatever lies behind its plants."""
    site = records.get(session, Site, site_id)
    plantings = read_planted(session, Planting.site_id == site_id)
    plan_id = plan.id if plan else None
    lines = read_planned(session, plan_id, PlanLine.site_id == site_id)
    sent = read_sent(session, site_id=site_id)
    drawn = (
        select(Draw.lot_id)
        .join(PlanLine, Draw.line_id == PlanLine.id)
        .where(PlanLine.plan_id == plan_id, PlanLine.site_id == site_id)
    )
    return SiteTrace(
        site,
        plantings,
        lines,
        origins_of(session, _these(plantings), _together(plantings)),
        origins_of(session, drawn, _together(lines)),
        sent,
        origins_of(session, _these(sent), _together(sent)),
    )


def _these(rows: Sequence[Planted] | Sequence[Sent]) -> Select[Any]:
    return select(Lot.id).where(Lot.id.in_({row.lot_id for row in rows}))


def _together(rows: Sequence[Planted] | Sequence[Planned] | Sequence[Sent]) -> dict[int, float]:
    found: defaultdict[int, float] = defaultdict(float)
    for row in rows:
        found[row.lot_id] += row.plants
    return dict(found)


def origins_of(session: Session, start: Select[Any], plants: Mapping[int, float]) -> Origins:
    """Where plants come from; ``plants`` by lot, and ``start`` the query of these lots."""
    return origins_of_each(session, start, {None: plants})[None]


def origins_of_each(
    session: Session, start: Select[Any], groups: Mapping[Any, Mapping[int, float]]
) -> dict[Any, Origins]:
    """The same of several groups of plants, read together: queries do not follow from their number."""
    together: defaultdict[int, float] = defaultdict(float)
    for plants in groups.values():
        for lot_id, count in plants.items():
            together[lot_id] += count
    if not sum(together.values()):
        return {key: Origins(0.0) for key in groups}
    flows = flows_above(session, start, together)
    facts = read_lots(session, flows.lots.tolist())
    bags = read_bags(session, flows.lots.tolist())
    # Bags of a made lot tell better than those of its parts, as in ``services.mothers``.
    cut = flows.without_inflow(bags)
    return {key: _origins(plants, flows, cut, facts, bags) for key, plants in groups.items()}


def _origins(
    plants: Mapping[int, float],
    flows: Flows,
    cut: Flows,
    facts: Mapping[int, LotFacts],
    bags: Mapping[int, Mapping[str, float]],
) -> Origins:
    total = sum(plants.values())
    if not total:
        return Origins(0.0)
    taken = flows.weights({lot_id: count / total for lot_id, count in plants.items()})
    through = walk_back(flows, taken)
    reached = walk_back(cut, taken)
    ended = cut.is_collected & (reached > 0)
    ends = {int(lot_id): float(share) for lot_id, share in zip(flows.lots[ended], reached[ended], strict=True)}
    order = np.argsort(-through, kind="stable")
    collected = flows.is_collected
    ids = flows.lots.tolist()
    return Origins(
        total,
        [LotShare(facts[ids[at]], float(through[at]), bool(collected[at])) for at in order if through[at] > 0],
        [
            (ids[parent], ids[child], float(share))
            for parent, child, share in zip(
                flows.parent.tolist(), flows.child.tolist(), through[flows.child] * flows.share, strict=True
            )
            if share > 0
        ],
        _mothers(ends, facts, bags),
        _worth(ends, facts, bags, total),
    )


def _mothers(
    ends: Mapping[int, float], facts: Mapping[int, LotFacts], bags: Mapping[int, Mapping[str, float]]
) -> list[MotherShare]:
    """A mother tagged alike in two lots of one population is the same plant."""
    shares: defaultdict[tuple[int, str], float] = defaultdict(float)
    first: dict[tuple[int, str], tuple[str, LotFacts]] = {}
    lots: defaultdict[tuple[int, str], list[str]] = defaultdict(list)
    for lot_id, share in ends.items():
        for tag, part in bags.get(lot_id, {}).items():
            mother = (facts[lot_id].population_id, tag.casefold())
            shares[mother] += share * part
            first.setdefault(mother, (tag, facts[lot_id]))
            lots[mother].append(facts[lot_id].code)
    found = [MotherShare(*first[key], share, tuple(sorted(lots[key]))) for key, share in shares.items()]
    return sorted(found, key=lambda one: (-one.share, one.lot.population_code, one.tag))


def _worth(
    ends: Mapping[int, float],
    facts: Mapping[int, LotFacts],
    bags: Mapping[int, Mapping[str, float]],
    total: float,
) -> list[SpeciesWorth]:
    found = []
    for species in sorted({facts[lot_id].species for lot_id in ends}):
        own = {lot_id: share for lot_id, share in ends.items() if facts[lot_id].species == species}
        whole = sum(own.values())
        mothers = _mothers(own, facts, bags)
        pooled = tuple(sorted(facts[lot_id].code for lot_id in own if lot_id not in bags))
        squares = sum((mother.share / whole) ** 2 for mother in mothers)
        effective = None if pooled or not squares else 1 / squares
        found.append(SpeciesWorth(species, whole * total, len(mothers), effective, pooled))
    return found
