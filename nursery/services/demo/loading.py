"""Loading the demo season into a database, and knowing a demo database again."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import delete, exists, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Base, Batch, Change, Lot, Planting, Population, Site, Species, Target, Trip
from nursery.services import auditing
from nursery.services.demo import (
    accounts,
    acts,
    autumn,
    climates,
    duties,
    equipment,
    evidence,
    field,
    finished,
    floor,
    growth,
    health,
    hours,
    ledger,
    loads,
    lots,
    origin,
    papers,
    permits,
    places,
    plantings,
    reports,
    seed_tests,
    surveys,
    tables,
    targets,
    zones,
)
from nursery.services.setup import set_up
from nursery.services.species import set_figure
from nursery.services.work.following import all_at_once

#: The audit entry by which a demo database is known.
ACTION = "demo loaded"


def demo_day(session: Session) -> dt.date | None:
    """The day for which the demo season was loaded; None when this is no demo database."""
    details = session.scalar(
        select(Change.details).where(Change.action == ACTION).order_by(Change.id.desc()).limit(1)
    )
    return None if details is None else dt.date.fromisoformat(details["today"][1])


def is_empty(session: Session) -> bool:
    """Whether nobody has written any record down yet."""
    return not any(
        session.scalar(select(exists().select_from(model))) for model in (Population, Site, Trip, Lot, Target)
    )


def load_demo(session: Session, actor: str, *, today: dt.date) -> None:
    """Fill the database with the demo season of ``today``; an older demo season makes room for it.

    Raises
    ------
    Conflict
        When the database holds records that are not the demo's.
    """
    if demo_day(session) is not None:
        _clear(session)
    elif not is_empty(session):
        raise Conflict(
            _("This database holds records of your own, so the demo season was not loaded. Give another database.")
        )
    preferences = set_up(session, actor)
    species = {row.scientific_name: row for row in session.scalars(select(Species))}
    growing = tables.growing_places()
    places.set_preferences(preferences, growing)
    storage = places.storage_places(growing)
    stands, sites = places.populations(species), places.sites()
    grown = floor.crops(today)
    brought = lots.trips_and_lots(today, stands, storage, crops={crop.name: crop.planned_on for crop in grown})
    seed_lots = brought.lots
    session.add_all(places.nurseries(growing))
    session.add_all([*stands.values(), *sites.values(), *brought.crop_trips])
    people = equipment.people()
    session.add_all([*people, *equipment.expenses(species, today)])
    session.flush()
    equipment.write_equipment(session, actor, today)
    benches = equipment.benches_by_nursery(session)
    sown: dict[str, list[Batch]] = {}
    planted: list[Planting] = []
    for crop in grown:
        with all_at_once(session, actor, today=today):
            sown[crop.name] = floor.write_crop(
                session, actor, crop, brought.crop_lots[crop.name], sites, species, today
            )
            if crop.name == "finished":
                growth.write_growth(session, actor, crop.name, sown[crop.name], benches, today)
                planted = finished.write_finished(session, actor, sown[crop.name], today)
    running = sown["floor"]
    session.add_all([*brought.trips, *seed_lots, *targets.targets(today, sites, species)])
    session.add_all(zones.zones(species))
    session.flush()
    session.add_all(climates.climates(stands, sites))
    ledger.write_movements(session, actor, seed_lots, today)
    permits.write_permits(session, actor, seed_lots, today)
    seed_tests.write_tests(session, actor, seed_lots, today)
    evidence.write_evidence(session, actor, today)
    session.add_all(field.write_field(seed_lots))
    plantings.write_plantings(session, actor, seed_lots, sites, today)
    surveys.write_surveys(session, actor, planted, stands, sites, today)
    acts.write_acts(session, actor, seed_lots, today)
    origin.write_origin(session, actor, seed_lots, sites, today)
    with all_at_once(session, actor, today=today):
        running += autumn.write_autumn(session, actor, seed_lots, today)
        growth.write_growth(session, actor, "floor", running, benches, today)
    duties.give_out(session, actor, people)
    session.add_all(hours.work_times(actor, [*sown["finished"], *running], people, today))
    session.add_all(hours.season_times(actor, people, today))
    _write_last(session, actor, today)
    auditing.record(session, actor, action=ACTION, row=preferences, details={"today": [None, today.isoformat()]})


def _write_last(session: Session, actor: str, today: dt.date) -> None:
    """What looks at the records that the others wrote, and who may sign in."""
    accounts.write_accounts(session, actor)
    health.write_health(session, actor, today)  # it looks at the batches that stand on benches
    papers.write_papers(session, actor, today)
    loads.write_loads(session, actor, today)
    reports.write_reports(session, actor, today)  # last of all: the report tells what the others wrote
    for row in tables.rows("figures"):
        set_figure(
            session, actor, key=row["key"], figure=row["figure"], value=float(row["value"]), reason=row["reason"]
        )


def _clear(session: Session) -> None:
    # The database lets nobody delete from a ledger, so those of the demo are made anew, empty.
    connection = session.connection()
    names = ("seals", "changes", "movements", "plant_movements", "supply_movements")
    ledgers = [Base.metadata.tables[name] for name in names]
    for table in ledgers:
        table.drop(connection)
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql(f"DROP FUNCTION {table.name}_only_added()")
    for table in reversed(ledgers):
        table.create(connection)
    for table in reversed(Base.metadata.sorted_tables):
        session.execute(delete(table))
    session.expunge_all()
