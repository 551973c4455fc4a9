"""A sheet of paper for counting: the plots of a site and what should stand in each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Site, Species, Survey, SurveyCount, SurveyPlot
from nursery.services.seasons import season_at
from nursery.services.surveys.planted import read_planted


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A species that should stand in a plot, with what was found there before."""

    species: str
    planted: int | None
    alive: int | None
    year: int | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """All plots of a site."""

    site: Site
    season: int
    #: Plots with their species; one plot without a name where none is written down.
    plots: Sequence[tuple[SurveyPlot | None, Sequence[SheetRow]]]


def read_sheet(session: Session, site: Site, season: int | None, *, today: dt.date) -> Sheet:
    """For the season asked for, else the newest planted; four queries whatever the number of plots."""
    planted = read_planted(session, site_ids=[site.id])
    seasons = sorted({planted_in for _site, planted_in, _species in planted}, reverse=True)
    grown = [one for one in seasons if one < season_at(today, southern=site.latitude < 0)]
    chosen = season if season in seasons else next(iter(grown or seasons), None)
    if chosen is None:
        chosen = season if season is not None else season_at(today, southern=site.latitude < 0) - 1
    plots = session.scalars(
        select(SurveyPlot)
        .where(SurveyPlot.site_id == site.id, SurveyPlot.archived_at.is_(None))
        .order_by(SurveyPlot.name)
    ).all()
    here = {species for _site, planted_in, species in planted if planted_in == chosen}
    before = _before(session, site, chosen)
    ids = here | {species for _plot, species in before}
    rows = session.execute(
        select(Species.id, Species.scientific_name).where(Species.id.in_(ids)).order_by(Species.scientific_name)
    )
    names = {species_id: name for species_id, name in rows}  # noqa: C416 -- rows are no pairs to mypy
    shown: list[SurveyPlot | None] = [*plots] or [None]
    return Sheet(site, chosen, [(plot, _rows(plot, names, here, before)) for plot in shown])


def _before(session: Session, site: Site, season: int) -> dict[tuple[int, int], tuple[int, int, int]]:
    """Planted, alive and year of the last count, by plot and species."""
    rows = session.execute(
        select(SurveyPlot.id, SurveyCount.species_id, SurveyCount.planted, SurveyCount.alive, Survey.year)
        .join(Survey, Survey.plot_id == SurveyPlot.id)
        .join(SurveyCount, SurveyCount.survey_id == Survey.id)
        .where(SurveyPlot.site_id == site.id, Survey.season == season, Survey.withdrawn_at.is_(None))
        .order_by(Survey.year)
    )
    return {(plot_id, species_id): (planted, alive, year) for plot_id, species_id, planted, alive, year in rows}


def _rows(
    plot: SurveyPlot | None, names: dict[int, str], here: set[int],
    before: dict[tuple[int, int], tuple[int, int, int]],
) -> list[SheetRow]:  # fmt: skip
    known = {species for plot_id, species in before if plot is not None and plot_id == plot.id}
    found = []
    for species_id, name in names.items():
        if species_id not in (known or here):
            continue
        planted, alive, year = before[plot.id, species_id] if plot is not None and known else (None, None, None)
        found.append(SheetRow(name, planted, alive, year))
    return found
