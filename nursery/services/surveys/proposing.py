"""Replacements for a site and season: losses in plots scaled to all that was planted, species by species."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.models import Site, Survey, SurveyCount, SurveyPlot, Target
from nursery.models.targets import TargetBasis
from nursery.planning.field.survival import Survival, missing_plants
from nursery.planning.field.words import YEARS, Goal
from nursery.services.catalogue import effective_entries
from nursery.services.seasons import season_at
from nursery.services.surveys.planted import Planted, read_planted
from nursery.services.surveys.survival import SurvivalRow, survival
from nursery.services.surveys.teaching import RATES
from nursery.services.targets.meaning import wanted_of


class Hurdle(StrEnum):
    """Why nothing is proposed for a species."""

    NONE = ""
    NO_PLANTING = "no-planting"
    NO_TARGET = "no-target"
    NO_RATE = "no-rate"
    #: The open target of the coming season wants a density, to which no plants can be added.
    BY_DENSITY = "by-density"
    #: Handed on already, to a target of another season.
    ELSEWHERE = "elsewhere"
    LIVES = "lives"
    HANDED_ON = "handed-on"


@dataclass(frozen=True, slots=True)
class Proposal:
    """Replacement plants of one species."""

    row: SurvivalRow
    #: What was expected to live by now, 0–1.
    expected: float | None
    #: Plants that should live at the site by now.
    wanted: float | None
    #: Survivors at the site and replacements that live there, scaled from plots.
    living: float | None
    standing: float | None
    #: Share of the replacements that is expected to live; 1 where one is planted for each that is missing.
    rate: float | None
    #: Plants to plant, with their interval, before what is handed on already.
    plants: int
    low: int
    high: int
    handed_on: int
    #: What the coming target would be raised by; survivors, where it is given in survivors.
    more: int
    target_id: int | None
    in_survivors: bool
    hurdle: Hurdle

    @property
    def is_open(self) -> bool:
        """Whether a click would do anything for it."""
        return self.hurdle is Hurdle.NONE and self.more > 0


@dataclass(frozen=True, slots=True)
class Proposals:
    """What a site's last survey of a season says of replacements."""

    site: Site
    season: int
    year: int
    goal: Goal
    #: The winter in which they would be planted.
    coming: int
    rows: Sequence[Proposal]
    #: Years that were surveyed.
    years: Sequence[int]

    @property
    def plants(self) -> int:
        """Plants that one click would ask for."""
        return sum(one.more for one in self.rows if one.is_open)

    @property
    def handed_on(self) -> int:
        """Plants asked for already."""
        return sum(one.handed_on for one in self.rows)


def propose(
    session: Session,
    *,
    site: Site,
    season: int,
    year: int | None = None,
    goal: Goal = Goal.EXPECTED,
    coming: int | None = None,
    today: dt.date,
) -> Proposals | None:
    """Replacements after the year that says most (or ``year``); None where nothing was surveyed.

    Expected survival is the catalogue's rate or the one a person set, not the one that these very plots taught:
    else losses would excuse themselves.
    """
    planted = read_planted(session, site_ids=[site.id])
    rows = survival(session, season, site.id, planted=planted)
    years = sorted({row.year for row in rows})
    if not years:
        return None
    asked = year if year is not None and year in years else _telling_year(rows)
    next_season = coming or next_season_of(site, today)
    rows = [row for row in rows if row.year == asked]
    entries = effective_entries(session, {row.species_id for row in rows}, learned=False)
    targets = _targets(session, site, [row.species_id for row in rows])
    handed = _handed_on(session, site.id, season)
    present = season_at(today, southern=site.latitude < 0)
    found = [
        _proposal(
            row, goal, entries.get(row.species_id), planted.get((site.id, season, row.species_id)),
            targets.get((row.species_id, season)), targets.get((row.species_id, next_season)),
            handed.get((row.species_id, asked), {}), next_season,
            _still_to_come(handed, row, present),
        )
        for row in rows
    ]  # fmt: skip
    return Proposals(site, season, asked, goal, next_season, found, years)


def _telling_year(rows: Sequence[SurvivalRow]) -> int:
    """The last of the usual years in which most species were counted in enough plants; where none was, the last
    of any year that was, then the last of the usual ones. Extra looks at a few plants settle nothing."""

    def worth(year: int) -> tuple[bool, bool, int]:
        thin = [row.is_thin for row in rows if row.year == year]
        return 2 * sum(thin) <= len(thin), year in YEARS, year

    return max({row.year for row in rows}, key=worth)


def next_season_of(site: Site, today: dt.date) -> int:
    """The next planting winter whose plants can still be sown: that after the present one."""
    return season_at(today, southern=site.latitude < 0) + 1


def _proposal(
    row: SurvivalRow, goal: Goal, entry: SpeciesEntry | None, planted: Planted | None, target: Target | None,
    coming: Target | None, handed: Mapping[int, int], next_season: int, before: int,
) -> Proposal:  # fmt: skip
    expected = expected_rate(entry, planted, row.year)
    number = planted.plants if planted is not None else 0
    wanted, rate = _wish(goal, number, expected, target)
    in_all = sum(handed.values())
    if not number or wanted is None or rate is None:
        hurdle = Hurdle.NO_PLANTING if not number else Hurdle.NO_RATE if expected is None else Hurdle.NO_TARGET
        return Proposal(row, expected, wanted, None, None, rate, 0, 0, 0, in_all, 0, None, False, hurdle)
    seen = Survival(np.array(row.rate), np.array(row.low), np.array(row.high))
    standing = row.replacements / row.planted
    lacking = missing_plants(number, seen, standing=standing, wanted=wanted, rate=rate)
    plants = int(lacking.plants)
    in_survivors = coming is not None and coming.basis is TargetBasis.SURVIVORS
    asked = plants
    if in_survivors:  # the plan adds what will die of them
        asked = int(missing_plants(number, seen, standing=standing, wanted=wanted, rate=1).plants)
    more = max(asked - in_all - before, 0)
    hurdle = Hurdle.NONE
    if not plants:
        hurdle = Hurdle.LIVES
    elif not more:
        hurdle = Hurdle.HANDED_ON
    elif coming is not None and coming.basis is TargetBasis.DENSITY:
        hurdle = Hurdle.BY_DENSITY
    elif handed and set(handed) != {next_season}:
        hurdle = Hurdle.ELSEWHERE
    return Proposal(
        row, expected, wanted, number * row.rate, number * standing, rate, plants, int(lacking.low),
        int(lacking.high), in_all, more, coming.id if coming is not None else None, in_survivors, hurdle,
    )  # fmt: skip


def expected_rate(entry: SpeciesEntry | None, planted: Planted | None, year: int) -> float | None:
    """What the species' protocol expects to live: of year 1 up to year 2, of year 3 from then on."""
    if entry is None:
        return None
    parts = set(planted.lots.values()) if planted is not None else set()
    protocol = next((one for one in entry.protocols if one.part in parts), entry.default_protocol)
    return float(protocol.rates[RATES[1 if year < 3 else 3]].mean)


def _wish(
    goal: Goal, planted: int, expected: float | None, target: Target | None
) -> tuple[float | None, float | None]:
    """Plants that should live at the site, and the share of replacements expected to."""
    if goal is Goal.EXPECTED:
        return (planted * expected, expected) if expected else (None, None)
    if target is None:
        return None, None
    wanted = wanted_of(vars(target), target.site.area_ha)
    if wanted is None:
        return None, None
    if target.basis is TargetBasis.SURVIVORS:
        return (float(wanted.plants), expected) if expected else (None, None)
    return float(wanted.plants), 1.0


def _targets(session: Session, site: Site, species_ids: Sequence[int]) -> dict[tuple[int, int], Target]:
    found = session.scalars(
        select(Target).where(
            Target.site_id == site.id, Target.species_id.in_(species_ids), Target.archived_at.is_(None)
        )
    )
    return {(target.species_id, target.season): target for target in found}


def _still_to_come(handed: Mapping[tuple[int, int], Mapping[int, int]], row: SurvivalRow, present: int) -> int:
    """Replacements that surveys of other years asked for and nobody can have seen in a plot yet."""
    return sum(
        plants
        for (species_id, year), by_season in handed.items()
        if species_id == row.species_id and year != row.year
        for season, plants in by_season.items()
        if season >= present
    )


def _handed_on(session: Session, site_id: int, season: int) -> dict[tuple[int, int], dict[int, int]]:
    """Plants handed on by species and year of the survey, each by the season of its target."""
    rows = session.execute(
        select(SurveyCount.species_id, Survey.year, Target.season, func.sum(SurveyCount.replaced))
        .join(Survey, SurveyCount.survey_id == Survey.id)
        .join(SurveyPlot, Survey.plot_id == SurveyPlot.id)
        .join(Target, SurveyCount.target_id == Target.id)
        .where(Survey.withdrawn_at.is_(None), SurveyPlot.site_id == site_id, Survey.season == season)
        .group_by(SurveyCount.species_id, Survey.year, Target.season)
    )
    found: dict[tuple[int, int], dict[int, int]] = {}
    for species_id, year, target_season, plants in rows:
        found.setdefault((species_id, year), {})[target_season] = int(plants or 0)
    return found
