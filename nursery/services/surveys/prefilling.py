"""What the form of a survey begins with: the species that were planted, and what was counted there before."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Species, Survey, SurveyCount, SurveyPlot
from nursery.planning.field.words import LAST_YEAR, YEARS
from nursery.services.seasons import season_at
from nursery.services.surveys.planted import read_planted, seasons_planted


@dataclass(frozen=True, slots=True)
class Expected:
    """A species that should stand in a plot."""

    species_id: int
    species: str
    #: First planted in the plot, as an earlier survey found; None before the first.
    planted: int | None
    #: Alive at the last survey before, and its year.
    alive: int | None
    year: int | None
    #: First planted at the whole site; 0 where none is written down.
    at_site: int


def expected_species(session: Session, plot: SurveyPlot, season: int) -> list[Expected]:
    """Species of the plot: those planted at its site in a season, and those counted in it before."""
    planted = {
        species: one.plants
        for (_site, planted_in, species), one in read_planted(session, site_ids=[plot.site_id]).items()
        if planted_in == season
    }
    before = earlier_counts(session, plot, season)
    latest = {count.species_id: (count, survey.year) for survey in before for count in survey.counts}
    ids = planted.keys() | latest.keys()
    names = session.execute(
        select(Species.id, Species.scientific_name).where(Species.id.in_(ids)).order_by(Species.scientific_name)
    )
    found = []
    for species_id, name in names:
        count, year = latest.get(species_id, (None, None))
        found.append(
            Expected(
                species_id, name, count.planted if count else None, count.alive if count else None, year,
                planted.get(species_id, 0),
            )
        )  # fmt: skip
    # Where the plot was counted before, what stood in it comes first.
    return sorted(found, key=lambda one: one.planted is None) if before else found


def earlier_counts(session: Session, plot: SurveyPlot, season: int) -> Sequence[Survey]:
    """Standing surveys of a plot for a season, in the order of their years."""
    return session.scalars(
        select(Survey)
        .where(Survey.plot_id == plot.id, Survey.season == season, Survey.withdrawn_at.is_(None))
        .order_by(Survey.year)
    ).all()


def usual_season(session: Session, plot: SurveyPlot, today: dt.date) -> int:
    """The newest season planted a summer ago or more; without plantings the winter before the present one."""
    seasons = seasons_planted(session, plot.site)
    old = [season for season, (_first, last) in seasons.items() if (today - last).days >= 200]
    if old or seasons:
        return (old or list(seasons))[0]
    return season_at(today, southern=plot.site.latitude < 0) - 1


def usual_year(session: Session, plot: SurveyPlot, season: int, today: dt.date) -> int:
    """The nearest of 1, 3 and 5 that the plants have come to on that day; where this one is counted already, their
    age in years, so that nobody is offered a year that lies ahead."""
    planted = seasons_planted(session, plot.site).get(season)
    last = planted[1] if planted is not None else dt.date(season, 12, 1)
    passed = min(max(round((today - last).days / 365), 1), LAST_YEAR)
    come = max(year for year in YEARS if year <= passed)
    done = {survey.year for survey in earlier_counts(session, plot, season)}
    return passed if come in done else come


def last_year_come(session: Session, plot: SurveyPlot, season: int, today: dt.date) -> int:
    """The last year that the plants of a season can have come to; any where no planting of it is written down.

    The growing season that is under way counts as soon as a quarter of it has passed.
    """
    planted = seasons_planted(session, plot.site).get(season)
    if planted is None:
        return LAST_YEAR
    return min(max(math.ceil((today - planted[0]).days / 365 - 0.25), 1), LAST_YEAR)


def counts_of_species(survey: Survey) -> dict[int, SurveyCount]:
    """A survey's counts by species."""
    return {count.species_id: count for count in survey.counts}
