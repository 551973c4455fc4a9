"""Tasks of counting what lives after one, three and five years: asked for by plantings, done by surveys."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Lot, Planting, Site, Species, Survey, SurveyPlot, Task
from nursery.planning.field.words import YEARS
from nursery.planning.work.words import Job
from nursery.services.seasons import season_at
from nursery.services.work.wanted import Wanted

#: Survival is counted when so many days have passed since planting, for each year.
DAYS = 365
#: A survey that nobody made is asked for until the next one is due; the last for a year.
_LAST = 365
#: Site, season, year.
Key = tuple[int, int, int]


def survey_key(site_id: int, season: int, year: int) -> str:
    """What the task is called among all tasks."""
    return f"survey-s{site_id}-{season}" if year == 1 else f"survey-s{site_id}-{season}-y{year}"


def planted_surveys(session: Session, *, today: dt.date, sites: Collection[int] | None = None) -> list[Wanted]:
    """Surveys of what was planted, whatever the plan says by now: one a site, season and year."""
    here = () if sites is None else (Planting.site_id.in_(sites),)
    days: dict[tuple[int, int], list[dt.date]] = defaultdict(list)
    plants: dict[tuple[int, int], int] = defaultdict(int)
    names: dict[tuple[int, int], set[str]] = defaultdict(set)
    at: dict[int, str] = {}
    rows = session.execute(
        select(
            Planting.site_id, Site.name, Site.latitude, Species.scientific_name, Planting.planted_on,
            func.sum(Planting.plants),
        )
        .join(Site, Planting.site_id == Site.id)
        .join(Lot, Planting.lot_id == Lot.id)
        .join(Species, Lot.species_id == Species.id)
        .where(
            Planting.archived_at.is_(None), Planting.is_replacement.is_(False), Site.archived_at.is_(None),
            Planting.planted_on >= today - dt.timedelta(days=DAYS * YEARS[-1] + _LAST), *here,
        )
        .group_by(Planting.site_id, Site.name, Site.latitude, Species.scientific_name, Planting.planted_on)
    )  # fmt: skip
    for site_id, name, latitude, species, day, planted in rows:
        key = site_id, season_at(day, southern=latitude < 0)
        at[site_id] = name
        days[key].append(day)
        plants[key] += int(planted)
        names[key].add(species)
    return [
        Wanted(
            key=survey_key(*key, year), job=Job.SURVEY, planned_on=due, amount=float(plants[key]),
            links={"site_id": key[0], "line_id": None},
            details={"site": at[key[0]], "season": key[1], "year": year, "names": sorted(names[key])},
        )
        for key in sorted(days)
        for year, due in _due(max(days[key]), today)
    ]  # fmt: skip


def _due(planted_on: dt.date, today: dt.date) -> Iterator[tuple[int, dt.date]]:
    """Years whose survey is to come, or waits and is not overtaken by the next."""
    for year, later in zip(YEARS, (*YEARS[1:], None), strict=True):
        due = planted_on + dt.timedelta(days=DAYS * year)
        over = planted_on + dt.timedelta(days=DAYS * later) if later else due + dt.timedelta(days=_LAST)
        if today < over:
            yield year, due


def read_surveyed(session: Session, site_ids: Collection[int] | None = None) -> Mapping[Key, dt.date]:
    """The last day on which each site was surveyed, by season and year."""
    query = (
        select(SurveyPlot.site_id, Survey.season, Survey.year, func.max(Survey.surveyed_on))
        .join(SurveyPlot, Survey.plot_id == SurveyPlot.id)
        .where(Survey.withdrawn_at.is_(None))
        .group_by(SurveyPlot.site_id, Survey.season, Survey.year)
    )
    if site_ids is not None:
        query = query.where(SurveyPlot.site_id.in_(site_ids))
    return {(site_id, season, year): day for site_id, season, year, day in session.execute(query)}


def note_surveyed(session: Session, actor: str, *, site_id: int, season: int, year: int) -> None:
    """A survey was written down or withdrawn: the task that asked for it is as far done as the surveys show."""
    from nursery.services.work.records import mark  # noqa: PLC0415 -- records asks this module for its days

    task = session.scalar(select(Task).where(Task.key == survey_key(site_id, season, year)))
    if task is None:
        return
    day = read_surveyed(session, [site_id]).get((site_id, season, year))
    mark(task, max(task.amount or 0.0, 1.0) if day is not None else 0.0, day, actor)
    session.flush()
