"""A plan in sums, and what has happened to the records since it was made."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field

from sqlalchemy import String, cast, func, select
from sqlalchemy.orm import Session

from nursery.i18n import ngettext
from nursery.models import Change, CollectionNeed, Plan, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.origin.words import NeedPurpose


@dataclass
class SeasonTotals:
    """Sums over lines; plants are those to plant, ready plants those needed and expected."""

    lines: int = 0
    by_status: dict[LineStatus, int] = field(default_factory=lambda: dict.fromkeys(LineStatus, 0))
    plants_to_plant: int = 0
    ready_plants: int = 0
    expected: float = 0.0
    shortfall: int = 0
    trays: int = 0
    seeds: int = 0

    def add(self, other: SeasonTotals) -> None:
        """Count ``other`` in."""
        for name in ("lines", "plants_to_plant", "ready_plants", "expected", "shortfall", "trays", "seeds"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for status, count in other.by_status.items():
            self.by_status[status] += count


@dataclass
class PlanTotals:
    """The whole plan, each season of it, and what is to be collected for its plants."""

    whole: SeasonTotals
    seasons: dict[int, SeasonTotals]
    seeds_to_collect: int
    grams_to_collect: float
    cuttings_to_collect: int


def plan_totals(session: Session, plan_id: int) -> PlanTotals:
    """Sums of a plan, in two queries."""
    seasons: defaultdict[int, SeasonTotals] = defaultdict(SeasonTotals)
    whole = SeasonTotals()
    rows = session.execute(
        select(
            PlanLine.season, PlanLine.status, func.count(), func.sum(PlanLine.plants_to_plant),
            func.sum(PlanLine.ready_plants), func.sum(PlanLine.expected), func.sum(PlanLine.shortfall),
            func.sum(PlanLine.trays), func.sum(PlanLine.seeds),
        )
        .where(PlanLine.plan_id == plan_id)
        .group_by(PlanLine.season, PlanLine.status)
        .order_by(PlanLine.season)
    )  # fmt: skip
    for season, status, lines, plants, ready, expected, short, trays, seeds in rows:
        part = SeasonTotals(
            lines=lines, plants_to_plant=plants, ready_plants=ready, expected=expected, shortfall=short,
            trays=trays, seeds=int(seeds),
        )  # fmt: skip
        part.by_status[status] = lines
        seasons[season].add(part)
        whole.add(part)
    is_cuttings = CollectionNeed.grams.is_(None)
    needs = {
        cuttings: (int(pieces), grams or 0.0)
        for cuttings, pieces, grams in session.execute(
            select(is_cuttings, func.sum(CollectionNeed.seeds), func.sum(CollectionNeed.grams))
            .where(CollectionNeed.plan_id == plan_id, CollectionNeed.purpose == NeedPurpose.PLANTS)
            .group_by(is_cuttings)
        )
    }
    seeds_needed, grams_needed = needs.get(False, (0, 0.0))
    return PlanTotals(whole, dict(seasons), seeds_needed, grams_needed, needs.get(True, (0, 0.0))[0])


def lines_without_container(session: Session, plan_id: int) -> int:
    """Number of lines whose trays cannot be counted because no container type is recorded."""
    told = cast(PlanLine.problems, String).contains('"no-container"')
    query = select(func.count()).select_from(PlanLine).where(PlanLine.plan_id == plan_id, told)
    return session.scalar(query) or 0


def lines_by_status(session: Session, plan_ids: Collection[int]) -> dict[int, dict[LineStatus, int]]:
    """Number of lines of each status, for several plans in one query."""
    found: dict[int, dict[LineStatus, int]] = {plan_id: {} for plan_id in plan_ids}
    rows = session.execute(
        select(PlanLine.plan_id, PlanLine.status, func.count())
        .where(PlanLine.plan_id.in_(plan_ids))
        .group_by(PlanLine.plan_id, PlanLine.status)
    )
    for plan_id, status, count in rows:
        found[plan_id][status] = count
    return found


def changes_since(session: Session, plan: Plan) -> list[str]:
    """How many records that a plan rests on were changed after it was made, as texts such as “3 lots”.

    The plan's own entry in the record of changes marks the moment; entries are only ever added.
    """
    made = (
        select(func.max(Change.id))
        .where(Change.subject == Plan.__tablename__, Change.subject_id == plan.id, Change.action.like("made%"))
        .scalar_subquery()
    )
    rows = session.execute(
        select(Change.subject, func.count(Change.subject_id.distinct()))
        .where(Change.id > made, Change.subject.in_(_COUNTED))
        .group_by(Change.subject)
        .order_by(Change.subject)
    )
    return [_COUNTED[subject](count) for subject, count in rows]


#: Tables that a plan is reckoned from, and how their number is said.
_COUNTED = {
    "containers": lambda n: ngettext("%(num)s container type", "%(num)s container types", n),
    "evidence": lambda n: ngettext("%(num)s batch seen", "%(num)s batches seen", n),
    "lots": lambda n: ngettext("%(num)s lot", "%(num)s lots", n),
    "nurseries": lambda n: ngettext("%(num)s nursery", "%(num)s nurseries", n),
    "populations": lambda n: ngettext("%(num)s population", "%(num)s populations", n),
    "preferences": lambda n: ngettext("the settings", "the settings", n),
    "sites": lambda n: ngettext("%(num)s planting site", "%(num)s planting sites", n),
    "species": lambda n: ngettext("own figures of %(num)s species", "own figures of %(num)s species", n),
    "storage_places": lambda n: ngettext("%(num)s storage place", "%(num)s storage places", n),
    "targets": lambda n: ngettext("%(num)s target", "%(num)s targets", n),
}
