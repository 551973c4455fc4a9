"""Survival and proposals cost a fixed number of statements, however many plots and species; the demo has some."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Site, Survey, SurveyCount, SurveyPlot, Task
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.surveys.proposing import Hurdle, propose
from nursery.services.surveys.sheet import read_sheet
from nursery.services.surveys.site import read_site
from nursery.services.surveys.survival import survival
from tests.services.surveys.conftest import Field


@pytest.mark.parametrize(
    "read",
    [
        lambda session, _field: survival(session),
        lambda session, field: read_site(session, field.site),
        lambda session, field: read_sheet(session, field.site, None, today=field.today),
        lambda session, field: propose(session, site=field.site, season=2025, today=field.today),
    ],
    ids=["survival", "site", "sheet", "proposals"],
)
def test_reading_asks_the_same_of_one_plot_and_of_many(
    session: Session, field: Field, maker: Any, count_queries: Any, read: Any
) -> None:
    def statements() -> int:
        session.expire_all()
        _loaded = field.site.code
        with count_queries(session.get_bind().engine) as seen:
            read(session, field)
        return len(seen)

    field.survey((field.oak, 30, 24))
    few = statements()
    for key in ("ulmus-minor", "alnus-glutinosa", "crataegus-monogyna"):
        species = maker.species(key)
        field.plant(maker.lot(population=maker.population(species=species)), 100)
        maker.target(site=field.site, species=species, season=2027)
    for number in range(5):
        plot = SurveyPlot(site_id=field.site.id, name=f"More {number}")
        session.add(plot)
        session.flush()
        field.plots.append(plot)
        field.survey((field.oak, 30, 20), (field.ash, 10, 9), plot=-1)
        field.survey((field.oak, 30, 18), plot=-1, year=2)
    session.flush()

    # Entries of the catalogue that were not needed before are read from its files, not from the database.
    assert statements() == few


def test_the_demo_has_a_species_that_failed_and_an_older_planting(demo_session: Session, today: Any) -> None:
    rows = {(row.site_code, row.species, row.year): row for row in survival(demo_session)}
    failed = rows["S-005", "Pistacia lentiscus", 1]
    assert (failed.planted, failed.alive, failed.is_thin) == (38, 7, False)
    assert rows["S-002", "Fraxinus angustifolia", 3].replacements == 4
    assert rows["S-002", "Fraxinus angustifolia", 1].rate > rows["S-002", "Fraxinus angustifolia", 3].rate

    site = demo_session.scalars(select(Site).where(Site.code == "S-005")).one()
    found = propose(demo_session, site=site, season=failed.season, today=today)
    assert found
    assert {one.row.species: one.hurdle for one in found.rows} == {
        "Phillyrea angustifolia": Hurdle.LIVES, "Pistacia lentiscus": Hurdle.NONE,
    }  # fmt: skip
    assert found.plants > 0
    taught = demo_session.scalars(
        select(SurveyCount.evidence_id).join(Survey).where(Survey.year.in_((1, 3)))
    ).all()
    assert None not in taught


def test_the_demos_survey_tasks_are_done_where_it_was_surveyed(demo_session: Session) -> None:
    tasks = demo_session.scalars(select(Task).where(Task.job == Job.SURVEY, Task.status == TaskStatus.DONE))
    done = {(task.details["site"], task.details["year"]) for task in tasks}

    assert {("Sovelha hillside", 1), ("Ajuvara confluence", 1)} <= done
    assert ("Undarva meander", 1) not in done
