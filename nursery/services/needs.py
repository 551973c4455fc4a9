"""What is still to be collected by a plan: the list, and a field sheet for each need."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import CollectionNeed, NeedPart, Plan, PlanLine, Site, Species
from nursery.planning.origin.words import NeedPurpose, NeedSource
from nursery.services.catalogue import effective_entries
from nursery.services.listing import Column, Condition, Filter, Listing
from nursery.services.need_words import (
    PURPOSE_LABELS,
    SOURCE_LABELS,
    SOURCE_NOTES,
    origin_text,
    other_populations,
    where_text,
)
from nursery.services.origin.gathering import read_terms
from nursery.services.permits.allowances import Allowance, allowances_by_need
from nursery.services.stands import Stands, read_stands

ORIGIN = case((CollectionNeed.region_code != "", CollectionNeed.region_code), else_=CollectionNeed.basin)
#: The plan kept cuttings by number and seed by weight.
IS_CUTTINGS = CollectionNeed.grams.is_(None)


def plants_first() -> tuple[Any, ...]:
    """The order in which needs are served: plants that lack before shares, then what closes first."""
    shares = case((CollectionNeed.purpose == NeedPurpose.SHARES, 1), else_=0)
    return shares, CollectionNeed.closes_on, CollectionNeed.id


class Season(StrEnum):
    """Where today stands in the collecting season of a need."""

    OPEN = "open"
    LATER = "later"
    OVER = "over"


SEASON_LABELS = {Season.OPEN: _l("Open now"), Season.LATER: _l("Opens later"), Season.OVER: _l("Over")}
MATERIAL_LABELS = {"seed": _l("Seed"), "cuttings": _l("Cuttings")}


@lru_cache(maxsize=32)
def needs_listing(today: dt.date, plan_id: int) -> Listing:
    """The list of a plan's needs, the season that closes first on top."""
    season = case(
        (CollectionNeed.closes_on < today, Season.OVER.value),
        (CollectionNeed.opens_on > today, Season.LATER.value),
        else_=Season.OPEN.value,
    )
    material = case((IS_CUTTINGS, "cuttings"), else_="seed")
    lines = (
        select(func.count(NeedPart.id))
        .where(NeedPart.need_id == CollectionNeed.id)
        .correlate(CollectionNeed)
        .scalar_subquery()
    )
    here = needs_of(plan_id)
    return Listing(
        model=CollectionNeed,
        order="until",
        joins=lambda query: query.join(Species, CollectionNeed.species_id == Species.id),
        columns=(
            Column(
                "species", _l("Species"), CollectionNeed.species_name, "taxon",
                link=("needs.detail", CollectionNeed.id),
            ),
            Column("origin", _l("Region or basin"), ORIGIN, nullable=False, on_screen=False),
            Column(
                "source", _l("Source"), CollectionNeed.source, "choice", choices=SOURCE_LABELS, nullable=False,
                on_screen=False,
            ),
            Column(
                "purpose", _l("What for"), CollectionNeed.purpose, "choice", choices=PURPOSE_LABELS,
                nullable=False, on_screen=False,
            ),
            Column("state", _l("Season"), season, "choice", choices=SEASON_LABELS, nullable=False),
            Column("from", _l("From"), CollectionNeed.opens_on, "date"),
            Column("until", _l("Until"), CollectionNeed.closes_on, "date"),
            Column("material", _l("Material"), material, "choice", choices=MATERIAL_LABELS, on_screen=False),
            Column("grams", _l("Clean seed"), CollectionNeed.grams, "number", digits=1, unit="g"),
            Column("fruit", _l("Fruit"), CollectionNeed.fruit_kg, "number", digits=2, unit="kg"),
            Column(
                "cuttings", _l("Cuttings"), case((IS_CUTTINGS, CollectionNeed.seeds)), "number"
            ),
            Column("mothers", _l("Mother plants"), CollectionNeed.mothers, "number"),
            Column("plants", _l("For plants"), CollectionNeed.plants, "number"),
            Column("lines", _l("Plan lines"), lines, "number", nullable=False),
            Column("seeds", _l("Seeds or cuttings"), CollectionNeed.seeds, "number", on_screen=False),
            Column("region", _l("Region of provenance"), CollectionNeed.region_code, on_screen=False),
            Column("basin", _l("Basin"), CollectionNeed.basin, on_screen=False),
        ),
        search=(CollectionNeed.species_name, CollectionNeed.region_code, CollectionNeed.basin),
        search_species=True,
        filters=(
            Filter("species", _l("Species"), Species.key, _options(Species.key, Species.scientific_name, here)),
            Filter("origin", _l("Region or basin"), ORIGIN, _options(ORIGIN, ORIGIN, here)),
            Filter("source", _l("Source"), CollectionNeed.source, _words(SOURCE_LABELS)),
            Filter("purpose", _l("What for"), CollectionNeed.purpose, _words(PURPOSE_LABELS)),
            Filter("material", _l("Material"), material, _words(MATERIAL_LABELS)),
            Filter("state", _l("Season"), season, _words(SEASON_LABELS)),
        ),
    )  # fmt: skip


def needs_of(plan_id: int) -> tuple[Condition, ...]:
    """What narrows the list to one plan."""
    return (CollectionNeed.plan_id == plan_id,)


def _options(value: Any, label: Any, here: Any) -> Callable[[Session], Sequence[tuple[str, str]]]:
    def read(session: Session) -> Sequence[tuple[str, str]]:
        query = (
            select(value, label).select_from(CollectionNeed).join(Species).where(*here).distinct().order_by(label)
        )
        return [(row[0], row[1]) for row in session.execute(query)]

    return read


def _words(labels: Any) -> Callable[[Session], Sequence[tuple[str, str]]]:
    return lambda _session: [(str(value), str(label)) for value, label in labels.items()]


@dataclass(frozen=True, slots=True)
class Served:
    """A plan line that waits for the seed."""

    line_id: int
    target_id: int
    site_id: int
    site_name: str
    season: int
    plants: int
    seeds: int
    start_on: dt.date
    elevation_m: float | None
    basis: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Spread:
    """Over how many populations an amount is to be spread, and which part of it one may give at most."""

    least: int = 1
    cap: float | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One need with all that a crew must know in the field."""

    need: CollectionNeed
    #: None for a species that the catalogue no longer has.
    entry: SpeciesEntry | None
    lines: list[Served]
    stands: Stands
    #: Permit lines under which it may be collected; None while no permit is written down.
    permits: Sequence[Allowance] | None = None
    #: What the strategies of its sites ask of the populations together.
    spread: Spread = Spread()

    @property
    def is_cuttings(self) -> bool:
        """Whether cuttings are to be taken, not seed."""
        return self.need.grams is None

    @property
    def origin(self) -> str:
        """Where it is to come from, as a list has it."""
        return origin_text(self.need)

    @property
    def where(self) -> str:
        """The same within a sentence, after a verb."""
        return where_text(self.need)

    @property
    def source_note(self) -> str:
        """What its source is; empty where it is the region as such."""
        note = SOURCE_NOTES.get(self.need.source)
        return str(note) if note else ""

    @property
    def for_shares(self) -> bool:
        """Whether it is not needed for the number of plants."""
        return self.need.purpose is NeedPurpose.SHARES

    @property
    def others_fill(self) -> bool:
        """Whether seed of other sources could fill the number of plants just as well."""
        return self.need.source in {NeedSource.NEAR, NeedSource.FAR, NeedSource.CLIMATE}

    @property
    def fruiting(self) -> int:
        """Fruiting plants known in all stands together."""
        return sum(stand.fruiting_plants or 0 for stand in self.stands.here)

    @property
    def most(self) -> float | None:
        """What all known stands may give together, kg of fruit or cuttings; None while no stand is counted."""
        known = [stand.most for stand in self.stands.here if stand.most is not None]
        return sum(known) if known else None

    @property
    def wanted(self) -> float:
        """What is to be collected in the unit of ``most``."""
        return self.need.seeds if self.is_cuttings else self.need.fruit_kg or 0.0

    def season_on(self, today: dt.date) -> Season:
        """Where a day stands in the collecting season."""
        if self.need.closes_on < today:
            return Season.OVER
        return Season.LATER if self.need.opens_on > today else Season.OPEN


def read_sheets(session: Session, plan: Plan, need_ids: Collection[int]) -> dict[int, Sheet]:
    """Sheets of some needs of a plan by id, in a fixed number of queries."""
    needs = session.scalars(
        select(CollectionNeed)
        .where(CollectionNeed.id.in_(need_ids), CollectionNeed.plan_id == plan.id)
        .order_by(CollectionNeed.id)
    ).all()
    entries = effective_entries(session, {need.species_id for need in needs})
    lines = _lines(session, [need.id for need in needs])
    stands = read_stands(session, needs, entries, since=plan.created_at)
    permits = allowances_by_need(session, needs)
    spreads = _spreads(session, needs, lines)
    return {
        need.id: Sheet(
            need,
            entries.get(need.species_id),
            lines.get(need.id, []),
            stands[need.id],
            None if permits is None else permits.get(need.id, []),
            spreads[need.id],
        )
        for need in needs
    }


def _spreads(
    session: Session, needs: Sequence[CollectionNeed], lines: Mapping[int | None, Sequence[Served]]
) -> dict[int, Spread]:
    """The strictest that the strategies of each need's sites ask for; of those that draw on some, the rest."""
    sites = {line.site_id for each in lines.values() for line in each}
    terms = read_terms(session, select(Site.id).where(Site.id.in_(sites)))
    found = {}
    for need in needs:
        asked = [terms[line.site_id] for line in lines.get(need.id, ()) if line.site_id in terms]
        caps = [each.population_cap for each in asked if each.population_cap]
        cap = min(caps) if caps else None
        least = max([each.least_populations for each in asked] + [math.ceil(1 / cap - 1e-9) if cap else 1])
        if other_populations(need):  # one at least is in hand already, and the cap is of all plants together
            found[need.id] = Spread(max(least - 1, 1))
        elif need.source in {NeedSource.REGION, NeedSource.LOCAL}:
            found[need.id] = Spread(least, cap)
        else:
            found[need.id] = Spread()
    return found


def _lines(session: Session, need_ids: Collection[int]) -> dict[int | None, list[Served]]:
    query = (
        select(
            NeedPart.need_id, PlanLine.id, PlanLine.target_id, PlanLine.site_id, PlanLine.site_name,
            PlanLine.season, NeedPart.plants, NeedPart.seeds, PlanLine.pretreat_on, Site.elevation_m,
            PlanLine.basis,
        )
        .join(NeedPart.line)
        .join(Site, PlanLine.site_id == Site.id)
        .where(NeedPart.need_id.in_(need_ids))
        .order_by(PlanLine.season, PlanLine.site_name, PlanLine.id)
    )  # fmt: skip
    found: dict[int | None, list[Served]] = {}
    for need_id, *line in session.execute(query):
        found.setdefault(need_id, []).append(Served(*line))
    return found


def need_and_plan(session: Session, need_id: int) -> tuple[CollectionNeed, Plan]:
    """One need, whichever plan it belongs to, and its plan."""
    found = session.execute(
        select(CollectionNeed, Plan).join(CollectionNeed.plan).where(CollectionNeed.id == need_id)
    ).first()
    if found is None:
        raise NotFound(_("There is no such collection need. Plans made since may have a new one."))
    return found[0], found[1]
