"""From a target back to mother stand and permit, and from a lot on to every site it may reach."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, joinedload, selectinload

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Batch, Draw, Lot, NeedPart, Plan, PlanLine, Planting, Site, Species, Target
from nursery.models.lots import Material
from nursery.planning.words import Method
from nursery.services.drawn_shares import DrawnShare, divide_draws
from nursery.services.ledger.shares import OriginShare, lot_descendants, lot_origins
from nursery.services.naming import species_named_like
from nursery.services.origin.verdicts import Cell

#: Lots and targets shown for one search.
MOST_FOUND = 25


@dataclass(frozen=True, slots=True)
class TargetTrace:
    """A target, its line in the plan if there is one, and the lots drawn for it with all that lies behind them."""

    target: Target
    line: PlanLine | None
    draws: list[tuple[Draw, Lot]]
    #: The collected lots whose seed is in each lot drawn, by its id; the lot itself where it was collected.
    origins: Mapping[int, list[OriginShare]] = field(default_factory=dict)
    #: Batches that were sown for it or given to it.
    batches: Sequence[Batch] = ()

    @property
    def parts(self) -> list[DrawnShare]:
        """What is drawn, divided among the collected lots."""
        return divide_draws(self.draws, self.origins)

    def sources(self, lot: Lot) -> list[OriginShare]:
        """The lots that a mixture or a part was made from; none for a lot that was collected."""
        return made_from(lot, self.origins[lot.id])


@dataclass(frozen=True, slots=True)
class Reach:
    """A site and what the rules of origin say of the lot there."""

    site: Site
    cell: Cell
    #: Seasons in which the plan grows the lot's species, from such material, for the site.
    seasons: list[int]

    @property
    def allowed(self) -> bool:
        """Whether the lot may be planted there, by the rules or by a person's decision."""
        return self.cell.allowed

    @property
    def distance_m(self) -> float:
        """From stand to site."""
        return self.cell.distance_m


@dataclass(frozen=True, slots=True)
class LotTrace:
    """A lot, the plan lines that draw it, and every site that is in use."""

    lot: Lot
    draws: list[tuple[Draw, PlanLine]]
    sites: list[Reach]
    #: The collected lots whose seed is in it; itself where it was collected.
    origins: list[OriginShare]
    #: Lots that its seed went into by splitting and mixing.
    descendants: list[Lot]

    @property
    def sources(self) -> list[OriginShare]:
        """The lots that it was made from; none where it was collected."""
        return made_from(self.lot, self.origins)

    @property
    def parts(self) -> list[DrawnShare]:
        """What the plan draws of it, divided among the collected lots."""
        return divide_draws([(draw, self.lot) for draw, _line in self.draws], {self.lot.id: self.origins})

    @property
    def reached(self) -> list[Reach]:
        """Sites the lot may serve, nearest first."""
        return [reach for reach in self.sites if reach.allowed]

    @property
    def excluded(self) -> list[tuple[str, list[Reach]]]:
        """Sites the lot may not serve, by what stops it, in words."""
        refused = [(reach, reach.cell.against) for reach in self.sites if not reach.allowed]
        counted = Counter(why for _reach, why in refused)
        return [(why, [reach for reach, own in refused if own == why]) for why, _number in counted.most_common()]


_LOT_OPTIONS = (
    joinedload(Lot.species),
    joinedload(Lot.population),
    joinedload(Lot.trip),
    joinedload(Lot.storage_place),
)


def made_from(lot: Lot, origins: list[OriginShare]) -> list[OriginShare]:
    """The origins of a lot that is a mixture or a part; nothing of one that is its own origin."""
    return [] if [origin.lot.id for origin in origins] == [lot.id] else origins


def trace_target(session: Session, plan: Plan | None, target_id: int) -> TargetTrace:
    """The chain of a target by a plan, in six queries whatever lies behind the lots."""
    target = session.get(Target, target_id, options=[joinedload(Target.site), joinedload(Target.species)])
    if target is None:
        raise NotFound(_("There is no such target."))
    batches = session.scalars(
        select(Batch)
        .where(Batch.target_id == target_id)
        .options(joinedload(Batch.lot).options(*_LOT_OPTIONS))
        .order_by(Batch.sown_on, Batch.id)
    ).all()
    if plan is None:
        return TargetTrace(target, None, [], batches=batches)
    line = session.scalar(
        select(PlanLine)
        .where(PlanLine.plan_id == plan.id, PlanLine.target_id == target_id)
        .options(selectinload(PlanLine.need_parts).joinedload(NeedPart.need))
    )
    if line is None:
        return TargetTrace(target, None, [], batches=batches)
    pairs = session.execute(
        select(Draw, Lot)
        .join(Lot, Draw.lot_id == Lot.id)
        .where(Draw.line_id == line.id)
        .options(*_LOT_OPTIONS)
        .order_by(Draw.id)
    )
    draws = [(draw, lot) for draw, lot in pairs]
    return TargetTrace(target, line, draws, lot_origins(session, [lot for _draw, lot in draws]), batches)


def trace_lot(session: Session, plan: Plan | None, lot_id: int, *, today: dt.date) -> LotTrace:
    """Where a lot comes from and may go, in a fixed number of queries whatever the number of sites and lots."""
    lot = session.get(Lot, lot_id, options=list(_LOT_OPTIONS))
    if lot is None:
        raise NotFound(_("There is no such lot."))
    plan_id = plan.id if plan else 0
    pairs = session.execute(
        select(Draw, PlanLine)
        .join(Draw.line)
        .where(Draw.lot_id == lot.id, PlanLine.plan_id == plan_id)
        .order_by(PlanLine.season, PlanLine.site_name, Draw.id)
    )
    from_cuttings = PlanLine.method == Method.CUTTINGS
    lines = session.execute(
        select(PlanLine.site_id, PlanLine.season)
        .where(PlanLine.plan_id == plan_id, PlanLine.species_id == lot.species_id)
        .where(from_cuttings if lot.material == Material.CUTTINGS else ~from_cuttings)
        .order_by(PlanLine.season)
    )
    wanted: dict[int, list[int]] = {}
    for site_id, season in lines:
        wanted.setdefault(site_id, []).append(season)
    return LotTrace(
        lot,
        [(draw, line) for draw, line in pairs],
        _reaches(session, lot, wanted, today),
        lot_origins(session, [lot])[lot.id],
        lot_descendants(session, lot),
    )


def _reaches(session: Session, lot: Lot, wanted: dict[int, list[int]], today: dt.date) -> list[Reach]:
    """Every site in use with the verdict on the lot, nearest first."""
    from nursery.services.origin.matrix import reach_of_lot  # noqa: PLC0415 -- slow import

    sites = {site.id: site for site in session.scalars(select(Site).where(Site.archived_at.is_(None)))}
    found = reach_of_lot(session, lot.id, today=today)
    return [Reach(sites[cell.site_id], cell, wanted.get(cell.site_id, [])) for cell in found]


@dataclass(frozen=True, slots=True)
class FoundLot:
    """A lot that a search names."""

    lot_id: int
    code: str
    species_name: str
    collected_on: dt.date


@dataclass(frozen=True, slots=True)
class FoundTarget:
    """A target that a search names."""

    target_id: int
    site_code: str
    site_name: str
    species_name: str
    season: int


@dataclass(frozen=True, slots=True)
class FoundSite:
    """A site that a search names."""

    site_id: int
    code: str
    name: str


@dataclass(frozen=True, slots=True)
class Found:
    """What a search names; ``more`` where there was more than is shown."""

    lots: list[FoundLot]
    targets: list[FoundTarget]
    more_lots: bool
    more_targets: bool
    #: Sites where something was planted.
    sites: Sequence[FoundSite] = ()


def find_traceable(session: Session, text: str) -> Found:
    """Lots by code or species, and targets by site or species; all of the newest where nothing is typed."""
    lots = select(Lot.id, Lot.code, Species.scientific_name, Lot.collected_on).join(Lot.species)
    targets = (
        select(Target.id, Site.code, Site.name, Species.scientific_name, Target.season)
        .join(Target.site)
        .join(Target.species)
        .where(Target.archived_at.is_(None))
    )
    planted = select(Planting.site_id).where(Planting.archived_at.is_(None))
    sites = select(Site.id, Site.code, Site.name).where(Site.id.in_(planted))
    for word in text.replace("\0", " ").split()[:8]:
        named = Species.key.in_(species_named_like(word))
        lots = lots.where(or_(_has(Lot.code, word), _has(Species.scientific_name, word), named))
        site = or_(_has(Site.code, word), _has(Site.name, word))
        sites = sites.where(site)
        targets = targets.where(or_(site, _has(Species.scientific_name, word), named))
    lot_rows: Sequence[Any] = session.execute(
        lots.order_by(Lot.collected_on.desc(), Lot.id.desc()).limit(MOST_FOUND + 1)
    ).all()
    target_rows: Sequence[Any] = session.execute(
        targets.order_by(Target.season, Site.name, Species.scientific_name).limit(MOST_FOUND + 1)
    ).all()
    site_rows: Sequence[Any] = session.execute(sites.order_by(Site.code).limit(MOST_FOUND)).all()
    return Found(
        [FoundLot(*row) for row in lot_rows[:MOST_FOUND]],
        [FoundTarget(*row) for row in target_rows[:MOST_FOUND]],
        len(lot_rows) > MOST_FOUND,
        len(target_rows) > MOST_FOUND,
        [FoundSite(*row) for row in site_rows],
    )


def _has(column: Any, word: str) -> Any:
    # SQLite folds only ASCII capitals; the spellings a person may have stored are tried beside the typed one.
    spellings = dict.fromkeys((word, word.lower(), word.capitalize(), word.upper()))
    return or_(*(column.icontains(spelling, autoescape=True) for spelling in spellings))
