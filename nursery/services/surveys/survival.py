"""Survival by species, site, season and year, as plots show it; replacements stand apart, always."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Site, Species, Survey, SurveyCount, SurveyPlot
from nursery.planning.field.survival import sample_of, survival_rates
from nursery.services.surveys.planted import Planted, read_planted


@dataclass(frozen=True, slots=True)
class SurvivalRow:
    """What plots of one site say of one species, planted in one season, after so many years."""

    site_id: int
    site_code: str
    #: Name of the site.
    site: str
    species_id: int
    species_key: str
    #: Scientific name.
    species: str
    season: int
    year: int
    #: Plots that held it, and the last day on which one was looked at.
    plots: int
    surveyed_on: dt.date
    #: In the plots: first planted, and alive of these.
    planted: int
    alive: int
    #: Alive ÷ planted, and its Wilson 95 % interval.
    rate: float
    low: float
    high: float
    #: Living replacements in the plots, never part of ``alive``.
    replacements: int
    #: Dead by cause; the empty cause holds those whose cause was not seen.
    causes: Mapping[str, int]
    #: First planted at the whole site, as far as plantings are written down; 0 where none is.
    planted_at_site: int

    @property
    def dead(self) -> int:
        """First planted and no longer alive."""
        return self.planted - self.alive

    @property
    def sample(self) -> tuple[int, int, int, int] | None:
        """Plants to look at: least, better, 5 % and 10 % of the planted; None without plantings on record."""
        if not self.planted_at_site:
            return None
        found = sample_of(self.planted_at_site)
        return int(found.least), int(found.better), int(found.share_low), int(found.share_high)

    @property
    def is_thin(self) -> bool:
        """Whether too few plants were looked at to say much."""
        least = self.sample[0] if self.sample else 30
        return self.planted < least

    @property
    def is_more_than_planted(self) -> bool:
        """Whether plots hold more first plants than are written down as planted at the whole site."""
        return 0 < self.planted_at_site < self.planted


@dataclass(slots=True)
class _Sum:
    site: tuple[int, str, str]
    species: tuple[int, str, str]
    season: int
    year: int
    plots: set[int] = field(default_factory=set)
    surveyed_on: dt.date = dt.date.min
    planted: int = 0
    alive: int = 0
    replacements: int = 0
    causes: Counter[str] = field(default_factory=Counter)


def survival(
    session: Session,
    season: int | None = None,
    site_id: int | None = None,
    year: int | None = None,
    *,
    species_id: int | None = None,
    planted: Mapping[tuple[int, int, int], Planted] | None = None,
) -> list[SurvivalRow]:
    """Rows of what was surveyed, by site, season, species and year; withdrawn surveys count for nothing.

    Two queries, one where ``planted`` (as ``read_planted`` gives it) is there already.
    """
    query = (
        select(
            SurveyPlot.id, SurveyPlot.site_id, Site.code, Site.name, Survey.season, Survey.year,
            Survey.surveyed_on, SurveyCount.species_id, Species.key, Species.scientific_name, SurveyCount.planted,
            SurveyCount.alive, SurveyCount.replacements_alive, SurveyCount.causes,
        )
        .join(Survey, Survey.plot_id == SurveyPlot.id)
        .join(SurveyCount, SurveyCount.survey_id == Survey.id)
        .join(Site, SurveyPlot.site_id == Site.id)
        .join(Species, SurveyCount.species_id == Species.id)
        .where(Survey.withdrawn_at.is_(None))
        .order_by(Site.name, Site.id, Survey.season.desc(), Species.scientific_name, Survey.year)
    )  # fmt: skip
    for column, value in (
        (Survey.season, season), (SurveyPlot.site_id, site_id), (Survey.year, year),
        (SurveyCount.species_id, species_id),
    ):  # fmt: skip
        if value is not None:
            query = query.where(column == value)
    sums: dict[tuple[int, int, int, int], _Sum] = {}
    for row in session.execute(query):
        key = row.site_id, row.season, row.species_id, row.year
        one = sums.setdefault(
            key,
            _Sum(
                (row.site_id, row.code, row.name), (row.species_id, row.key, row.scientific_name), row.season,
                row.year,
            ),
        )  # fmt: skip
        one.plots.add(row.id)
        one.surveyed_on = max(one.surveyed_on, row.surveyed_on)
        one.planted += row.planted
        one.alive += row.alive
        one.replacements += row.replacements_alive
        one.causes.update(row.causes)
    if not sums:
        return []
    if planted is None:
        planted = read_planted(session, site_ids=_sites(sums))
    return _rows(list(sums.values()), planted)


def _sites(sums: Collection[tuple[int, int, int, int]]) -> list[int] | None:
    """Sites to ask for; all, where a list of them would be long."""
    found = sorted({key[0] for key in sums})
    return found if len(found) <= 100 else None


def _rows(sums: Sequence[_Sum], planted: Mapping[tuple[int, int, int], Planted]) -> list[SurvivalRow]:
    rates = survival_rates([one.planted for one in sums], [one.alive for one in sums])
    found = []
    for at, one in enumerate(sums):
        unseen = one.planted - one.alive - one.causes.total()
        there = planted.get((one.site[0], one.season, one.species[0]))
        causes = {**dict(one.causes.most_common()), **({"": unseen} if unseen else {})}
        found.append(
            SurvivalRow(
                *one.site,
                *one.species,
                one.season,
                one.year,
                len(one.plots),
                one.surveyed_on,
                one.planted,
                one.alive,
                float(rates.rate[at]),
                float(rates.low[at]),
                float(rates.high[at]),
                one.replacements,
                causes,
                there.plants if there is not None else 0,
            )
        )
    return found
