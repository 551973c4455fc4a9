"""What a dossier lacks is named with the records in which it lacks."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from nursery.models import Count, Decision, Paper, Planting, Survey
from nursery.models.dispatches import DispatchStatus
from nursery.models.places import IndigenousStatus
from nursery.models.types import utc_now
from nursery.services.dossier.gaps import find_gaps
from nursery.services.dossier.gathering import gather
from tests.services.dossier.conftest import Story


def gaps(session: Session, story: Story) -> dict[str, list[str]]:
    session.flush()
    session.expire_all()
    return {gap.title: [one.label for one in gap.records] for gap in find_gaps(gather(session, story.asked()))}


def test_a_whole_story_lacks_nothing(session: Session, story: Story) -> None:
    assert gaps(session, story) == {}


def test_what_is_missing_of_the_seed_is_named(session: Session, story: Story) -> None:
    story.lot.permit_number, story.lot.trip_id, story.lot.mother_plants, story.lot.germination = (
        "",
        None,
        None,
        None,
    )
    story.stand.region_code, story.stand.indigenous_status = "", IndigenousStatus.UNKNOWN

    assert gaps(session, story) == {
        "No collecting permit is written down for": ["QUSU-4024-7"],
        "No trip is written down for": ["QUSU-4024-7"],
        "Mother plants were not counted of": ["QUSU-4024-7"],
        "Seed was never tested of": ["QUSU-4024-7"],
        "Indigenous status is unknown of": ["P-071"],
        "No region of provenance is written down for": ["P-071"],
    }


def test_a_stop_without_a_reason_is_named(session: Session, story: Story) -> None:
    decision = session.scalars(select(Decision)).one()
    decision.withdrawn_at, decision.withdrawn_by, decision.withdrawal = utc_now(), "Ana Seabra", "Changed my mind"

    (found,) = gaps(session, story).items()
    assert found[0].startswith("The rules of origin stop a lot here")
    assert found[1] == ["QUSU-4024-7 · S-071"]


def test_a_load_on_its_way_and_an_unsigned_paper_are_named(session: Session, story: Story) -> None:
    story.load.status, story.load.received_on, story.load.received_by = DispatchStatus.SENT, None, ""
    session.execute(update(Paper).values(signed_by="", signed_on=None))

    assert gaps(session, story) == {
        "No receipt is written down for": ["D-2026-071"],
        "Papers that nobody signed:": ["DN-2026-0031"],
    }


def test_a_void_paper_is_no_paper(session: Session, story: Story) -> None:
    session.execute(update(Paper).values(voided_at=utc_now(), voided_by="A", void_reason="Wrong number"))

    assert gaps(session, story) == {"Handed over, and no paper was drawn up:": ["D-2026-071"]}
    story.load.recipient = None
    assert gaps(session, story) == {}


def test_a_batch_never_counted_and_a_planting_never_surveyed_are_named(
    session: Session, story: Story, maker: Any
) -> None:
    session.execute(update(Count).values(withdrawn_at=utc_now(), withdrawn_by="A", withdrawn_reason="Wrong bench"))
    session.execute(update(Survey).values(withdrawn_at=utc_now(), withdrawn_by="A", withdrawn_reason="Wrong plot"))
    assert gaps(session, story) == {"Never counted:": [story.batch.code]}

    session.execute(update(Planting).values(planted_on=dt.date(2025, 1, 14)))
    assert gaps(session, story)["Planted more than a year ago, and survival was never surveyed:"] == ["S-071"]
