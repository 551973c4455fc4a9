"""The demo's papers: those of a load that arrived, signed; and a load whose papers wait for a certificate.

Numbers of certificates and registers begin with “EX”, since they are examples.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog.law_reading import load_law
from nursery.models import Batch, Dispatch, DispatchLine, Lot, Population, Recipient, Site
from nursery.models.dispatches import DispatchStatus
from nursery.models.movements import Measure
from nursery.models.recipients import RecipientKind
from nursery.services import records
from nursery.services.demo.tables import rows
from nursery.services.dispatches.planning import plan_load
from nursery.services.papers.applying import judge
from nursery.services.papers.cases import Stated
from nursery.services.papers.consignments import consign_load, plant_names
from nursery.services.papers.drawing_up import draw_up
from nursery.services.papers.giving import give
from nursery.services.papers.signing import sign
from nursery.services.papers.words import Purpose
from nursery.services.preferences import read_preferences

#: Days ahead on which the load without a certificate is planned, and days back at which seed was given.
_AHEAD, _GIVEN = 9, 3


def write_papers(session: Session, actor: str, today: dt.date) -> None:
    """Recipients of the table, references of registers, papers of the load that arrived, and one that waits."""
    _references(session, actor, today)
    for row in rows("recipients"):
        site = session.scalars(select(Site).where(Site.code == row["site"])).one()
        taker = _recipient(session, actor, row)
        if site.recipient_id is None:
            records.update(session, actor, site, {"recipient_id": taker.id})
        if row["story"] == "arrived":
            _arrived(session, actor, site, taker)
        elif row["story"] == "waits":
            _waits(session, actor, site, taker, today)
        if row["seed"]:
            _give(session, actor, row, taker, today)


def _recipient(session: Session, actor: str, row: dict[str, str]) -> Recipient:
    known = session.scalar(select(Recipient).where(Recipient.name == row["name"]))
    if known is not None:
        return known
    values = {
        "name": row["name"], "kind": RecipientKind(row["kind"]), "address": row["address"],
        "country": read_preferences(session).country, "contact": row["contact"],
    }  # fmt: skip
    return records.create(session, actor, Recipient, values)


def _references(session: Session, actor: str, today: dt.date) -> None:
    """Stands of listed species have a reference in an invented register, by region and code."""
    law, country = load_law(), read_preferences(session).country
    for stand in session.scalars(select(Population).order_by(Population.id)):
        if stand.region_code and law.regulated(plant_names(stand.species), country, today):
            reference = f"EX/{stand.region_code}/{stand.code}"
            records.update(session, actor, stand, {"register_reference": reference})


def _arrived(session: Session, actor: str, site: Site, taker: Recipient) -> None:
    """Papers of the site's load, drawn up and signed on the day it went."""
    load = session.scalar(
        select(Dispatch).where(Dispatch.site_id == site.id, Dispatch.status == DispatchStatus.RECEIVED).limit(1)
    )
    if load is None or load.sent_on is None:
        return
    if load.recipient_id is None:  # it went before the site had its recipient
        records.update(session, actor, load, {"recipient_id": taker.id})
    consignment = consign_load(session, load, load.sent_on)
    _certify(session, actor, {lot for part in consignment.parts if part.regulated for lot in part.lots})
    for verdict in judge(consignment):
        for part in (verdict.parts or (None,)) if verdict.applies else ():
            paper = draw_up(
                session, actor, kind=verdict.kind, consignment=consignment, part=part,
                stated=Stated(purpose=Purpose.RESTORATION), language="en", today=load.sent_on,
            )  # fmt: skip
            sign(session, actor, paper=paper, signed_by=actor, signed_on=load.sent_on, today=load.sent_on)


def _certify(session: Session, actor: str, lots: Iterable[Lot]) -> None:
    for lot in sorted(lots, key=lambda one: one.id):
        if not lot.certificate_number:
            records.update(session, actor, lot, {"certificate_number": f"EX-{lot.ripening_year}/{lot.id:04d}"})


def _waits(session: Session, actor: str, site: Site, taker: Recipient, today: dt.date) -> None:
    """A load to the site with plants of a listed species whose lot has no certificate yet."""
    planned = session.scalar(
        select(Dispatch.id).where(Dispatch.site_id == site.id, Dispatch.status == DispatchStatus.PLANNED).limit(1)
    )
    if planned is not None:
        return
    ready = session.scalars(select(Batch).where(Batch.alive > 0).order_by(Batch.id)).all()
    held = set(session.scalars(select(DispatchLine.batch_id)))
    lines = [
        {"batch_id": batch.id, "target_id": batch.target_id, "plants": batch.alive}
        for batch in ready
        if batch.target is not None and batch.target.site_id == site.id and batch.id not in held
    ]
    if lines:
        plan_load(
            session, actor, site_id=site.id, planned_on=today + dt.timedelta(days=_AHEAD), today=today,
            values={"recipient_id": taker.id}, lines=lines,
        )  # fmt: skip


def _give(session: Session, actor: str, row: dict[str, str], taker: Recipient, today: dt.date) -> None:
    """A little seed of the oldest lot of a population."""
    lot = session.scalar(
        select(Lot)
        .join(Population, Lot.population_id == Population.id)
        .where(
            Population.code == row["seed"], Lot.amount_mg > 0, Lot.is_held.is_(False), Lot.archived_at.is_(None)
        )
        .order_by(Lot.collected_on, Lot.id)
        .limit(1)
    )
    amount = round(float(row["grams"]) * 1000)
    if lot is None or (lot.amount_mg or 0) < amount:
        return
    _certify(session, actor, [lot])
    give(
        session, actor, lot=lot, recipient=taker, amount=amount, measure=Measure.SEED,
        happened_on=today - dt.timedelta(days=_GIVEN), today=today,
    )  # fmt: skip
