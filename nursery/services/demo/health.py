"""What the demo's crews saw on their walks, shut off, treated, and found not as clean as it should be."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Bench, Nursery, Placement, Scouting
from nursery.models.health import Finding
from nursery.planning.growing.words import Stage
from nursery.services.demo.tables import number, rows, whole
from nursery.services.health.hygiene import KEYS, check_hygiene
from nursery.services.health.quarantine import quarantine
from nursery.services.health.scouting import close_scouting, create_scouting
from nursery.services.health.treating import create_treatment
from nursery.services.preferences import change_preferences

#: Days back of the hygiene checks, and what was not as it should be.
_CHECKS = ((41, ("tools", "drainage", "hoses")), (11, ("drainage",)))


def write_health(session: Session, actor: str, today: dt.date) -> None:
    """Notes, a quarantine, treatments and checks of the first nursery; the smallest batch that grows is sick."""
    nursery = session.scalars(select(Nursery).order_by(Nursery.id).limit(1)).one()
    standing = session.execute(
        select(Batch, Bench)
        .join(Placement, Placement.batch_id == Batch.id)
        .join(Bench, Placement.bench_id == Bench.id)
        .where(Batch.alive > 0, Placement.until_on.is_(None), Bench.nursery_id == nursery.id)
        .order_by(Batch.stage.in_((Stage.SOWN, Stage.EMERGED, Stage.READY)), Batch.alive, Batch.id)
        .limit(1)
    ).first()
    places = {"nursery": {"nursery_id": nursery.id}}
    if standing is not None:
        places |= {"batch": {"batch_id": standing[0].id}, "bench": {"bench_id": standing[1].id}}
    change_preferences(
        session,
        actor,
        values={"health_contact": "Plant health office of the basin (example), 555 0100, 9 to 17 h"},
    )
    notes = [_note(session, actor, row, places, today) for row in rows("health_notes") if row["place"] in places]
    for note in notes:
        if note.batch_id is not None:
            quarantine(
                session, actor, batch_id=note.batch_id, reason=f"{note.description}: what it is, is not known yet",
                since=note.seen_on, today=today, scouting_id=note.id,
            )  # fmt: skip
    for row in rows("treatments"):
        if row["place"] in places:
            _treat(session, actor, row, places[row["place"]], today)
    for days, bad in _CHECKS:
        check_hygiene(
            session, actor, nursery_id=nursery.id, answers={key: "no" if key in bad else "yes" for key in KEYS},
            checked_on=today - dt.timedelta(days=days), today=today,
            notes="The gutter of the last bay is blocked (example)",
        )  # fmt: skip


def _note(
    session: Session, actor: str, row: dict[str, str], places: dict[str, dict[str, int]], today: dt.date
) -> Scouting:
    values = {
        "seen_on": today - dt.timedelta(days=int(row["days"])), "finding": Finding(row["finding"]),
        "description": row["description"], "plants_affected": whole(row["affected"]), "person": row["person"],
        **places[row["place"]],
    }  # fmt: skip
    note = create_scouting(session, actor, values=values, today=today)
    if row["closed"]:
        ended = today - dt.timedelta(days=int(row["closed"]))
        close_scouting(session, actor, row=note, outcome=row["outcome"], today=ended)
    return note


def _treat(session: Session, actor: str, row: dict[str, str], place: dict[str, int], today: dt.date) -> None:
    day = today - dt.timedelta(days=int(row["days"]))
    at = dt.datetime.combine(day, dt.time(int(row["hour"]))).astimezone()
    hours = number(row["reentry"])
    values = {
        "treated_at": at, "reentry_at": None if hours is None else at + dt.timedelta(hours=hours),
        "product": row["product"], "registration_number": row["registration"],
        "active_substance": row["substance"], "dose": float(row["dose"]), "dose_unit": row["unit"],
        "area_m2": number(row["area"]), "water_l": number(row["water"]), "against": row["against"],
        "applied_by": row["person"], "certificate": row["certificate"], **place,
    }  # fmt: skip
    create_treatment(session, actor, values=values, now=dt.datetime.combine(today, dt.time()).astimezone())
