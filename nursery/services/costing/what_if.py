"""The plan of a species redone with another container, protocol, assurance or season for some targets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Container, PlanLine, Target
from nursery.models.plans import LineStatus
from nursery.planning.growing.words import Stage
from nursery.planning.plan import make_plan
from nursery.planning.space.footprint import bench_area
from nursery.planning.work.costs import PARTS, Part, Weights, bear, cents
from nursery.services.costing.line_work import plants_to_come, sowable
from nursery.services.costing.pools import Pool, planned_pools
from nursery.services.costing.prices import Prices, read_prices
from nursery.services.costing.standard_times import standard_times
from nursery.services.planning.changes import Changes
from nursery.services.planning.gather import gather
from nursery.services.planning.unwritten import unwritten_lines
from nursery.services.space.footprint import rooms, tray_m2
from nursery.services.targets import change_target


@dataclass(frozen=True, slots=True)
class Figures:
    """What one target takes and gives; ``grows`` is false where nothing of it can be grown in time."""

    line: PlanLine
    grows: bool
    bench_m2: float
    hours: float
    cents: int

    @property
    def seeds(self) -> int:
        """Seeds to sow."""
        return sowable(self.line).seeds if self.grows else 0

    @property
    def trays(self) -> int:
        """Trays to fill."""
        return sowable(self.line).trays if self.grows else 0

    @property
    def a_plant(self) -> float | None:
        """Money for a plant ready, None where none is expected."""
        plants = plants_to_come(self.line)
        return self.cents / 100 / plants if self.grows and plants > 0 else None


@dataclass(frozen=True, slots=True)
class Pair:
    """One target, by today's records and with the change."""

    target_id: int
    before: Figures
    after: Figures

    @property
    def differs(self) -> bool:
        """Whether anything that a person would notice is different."""
        names = ("season", "seeds", "trays", "ready_on", "plant_on", "shortfall", "container_id", "status")
        return any(getattr(self.before.line, name) != getattr(self.after.line, name) for name in names)


@dataclass(frozen=True, slots=True)
class Sum:
    """Totals over targets."""

    seeds: int
    trays: int
    bench_m2: float
    hours: float
    cents: int
    expected: float
    #: Of these from what is still to be sown: the cost is theirs.
    to_come: float
    shortfall: int

    @property
    def a_plant(self) -> float | None:
        """Money for a plant ready, None where none is expected."""
        return self.cents / 100 / self.to_come if self.to_come > 0 else None


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The chosen targets side by side, and other targets of the species that the change moves."""

    chosen: Sequence[Pair]
    moved: Sequence[Pair]
    before: Sum
    after: Sum
    prices: Prices


def try_changes(session: Session, changes: Changes, *, species_id: int, today: dt.date) -> WhatIf:
    """Reckon the species' plan as it stands and with the changes; nothing is written.

    Raises
    ------
    Invalid
        At ``target`` where no open target is chosen.
    """
    prices = read_prices(session)
    before = _reckon(session, prices, species_id=species_id, today=today)
    after = _reckon(session, prices, species_id=species_id, today=today, changes=changes)
    pairs = [Pair(key, before[key], after[key]) for key in before]
    chosen = [pair for pair in pairs if pair.target_id in changes.targets]
    if not chosen:
        raise Invalid({"target": _("Choose at least one open target.")})
    return WhatIf(
        chosen=chosen,
        moved=[pair for pair in pairs if pair.target_id not in changes.targets and pair.differs],
        before=_sum([pair.before for pair in chosen]),
        after=_sum([pair.after for pair in chosen]),
        prices=prices,
    )


def take_over(session: Session, actor: str, changes: Changes, *, today: dt.date) -> list[Target]:
    """Change the targets themselves; the next plan follows."""
    asked = {
        "container_id": changes.container_id, "protocol": changes.protocol, "assurance": changes.assurance,
        "season": changes.season,
    }  # fmt: skip
    values = {name: value for name, value in asked.items() if value is not None}
    targets = session.scalars(
        select(Target)
        .where(Target.id.in_(changes.targets), Target.archived_at.is_(None))
        .options(joinedload(Target.site))
        .order_by(Target.id)
    ).all()
    for target in targets:
        own: dict[str, Any] = dict(values)
        if changes.season is not None and changes.season != target.season:
            own["plant_on"] = None
        change_target(session, actor, row=target, values=own, today=today)
    return list(targets)


def _reckon(
    session: Session, prices: Prices, *, species_id: int, today: dt.date, changes: Changes | None = None
) -> dict[int, Figures]:
    """Figures of every open target of the species."""
    gathered = gather(session, today=today, species_id=species_id, changes=changes)
    if not len(gathered.lines):
        return {}
    lines = unwritten_lines(gathered, make_plan(gathered.inputs))
    containers = {one.id: one for one in session.scalars(select(Container))}
    times, spacing = standard_times(session), rooms(session)[Stage.GROWING].spacing
    ground = [tray_m2(containers.get(line.container_id or 0)) for line in lines]
    areas = bench_area([sowable(line).trays for line in lines], ground, spacing).tolist()
    hours, costs = _costs(lines, prices, list(planned_pools(lines, prices, times, containers)))
    return {
        line.target_id: Figures(line, True, area, worked, money)
        if _can_be_grown(line)
        else Figures(line, False, 0.0, 0.0, 0)
        for line, area, worked, money in zip(lines, areas, hours, costs, strict=True)
    }


def _costs(lines: Sequence[PlanLine], prices: Prices, pools: Sequence[Pool]) -> tuple[list[float], list[int]]:
    """Hours and cents of each line, overhead included."""
    place = {line.id: at for at, line in enumerate(lines)}
    own = np.array([place[pool.line_id or 0] for pool in pools], np.int64)
    weights = Weights(np.arange(len(pools)), own, np.ones(len(pools)), len(lines))
    parts = [PARTS.index(pool.part) for pool in pools]
    borne = bear(
        cents([pool.money for pool in pools]), [pool.quantity for pool in pools], parts, weights,
        overhead_share=prices.overhead,
    )  # fmt: skip
    hours = borne.quantities[:, PARTS.index(Part.LABOUR)]
    return hours.tolist(), borne.cents.sum(axis=1).tolist()


def _can_be_grown(line: PlanLine) -> bool:
    """As `work_dates.can_be_grown` asks it of lines that are written down."""
    has_seed = line.status != LineStatus.SHORT or line.seeds > line.seeds_missing
    return line.status != LineStatus.LATE and line.ready_plants > 0 and has_seed


def _sum(figures: Sequence[Figures]) -> Sum:
    return Sum(
        seeds=sum(one.seeds for one in figures),
        trays=sum(one.trays for one in figures),
        bench_m2=sum(one.bench_m2 for one in figures),
        hours=sum(one.hours for one in figures),
        cents=sum(one.cents for one in figures),
        expected=sum(one.line.expected for one in figures if one.grows),
        to_come=sum(plants_to_come(one.line) for one in figures if one.grows),
        shortfall=sum(one.line.shortfall for one in figures),
    )
