from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, QualityCheck
from nursery.planning.growing.words import Stage
from nursery.services import batches
from tests.web.batches.conftest import Floor, floor

__all__ = ["floor"]

TYPED = {
    "checked_on": "2026-11-25", "looked_at": "20", "fair": "18", "heights_cm": "22 25,5 31", "collars_mm": "3 4",
    "defect-roots": "2", "notes": "taken from every tray",
}  # fmt: skip


@pytest.fixture
def batch(session: Session, floor: Floor, today: dt.date) -> Batch:
    batches.record_count(
        session, "Ana Seabra", batch=floor.batch, stage=Stage.EMERGED, counted_on=dt.date(2026, 11, 20),
        today=today, plants=300,
    )  # fmt: skip
    session.commit()
    return floor.batch


def test_a_look_is_kept_with_its_measures_and_defects(client: Any, session: Session, batch: Batch) -> None:
    path = f"/batches/{batch.id}/quality"
    page = client.submit(path, TYPED, follow_redirects=True).text
    assert re.search(r"90.?% of the plants looked at are fair\.", page)
    assert "Deformed roots: 2" in page
    assert "26.2" in page
    assert "3.5" in page
    row = session.scalars(select(QualityCheck)).one()
    assert (row.looked_at, row.fair, row.heights_cm, row.defects) == (20, 18, [22.0, 25.5, 31.0], {"roots": 2})
    assert "18 of 20 were fair on 25 Nov 2026" in client.get(f"/batches/{batch.id}").text


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"fair": "21"}, "No more can be fair than were looked at."),
        ({"looked_at": "301"}, "Look at 1 to 300 plants"),
        ({"heights_cm": "22 900"}, "A measure lies between 0 and 500"),
        ({"defect-roots": "3"}, "2 of the plants were not fair; no more can have “Deformed roots”."),
        ({"checked_on": "2026-11-26"}, "The day lies in the future."),
        ({"heights_cm": " ".join(["20"] * 21)}, "There are more measures than plants"),
    ],
)
def test_what_cannot_be_is_refused_and_stays_typed(
    client: Any, session: Session, batch: Batch, typed: dict[str, str], told: str
) -> None:
    answer = client.submit(f"/batches/{batch.id}/quality", {**TYPED, **typed})
    assert answer.status_code == 422
    assert told in answer.text
    assert 'value="taken from every tray"' in answer.text
    assert session.scalar(select(QualityCheck.id)) is None


def test_a_look_is_withdrawn_with_a_reason(client: Any, session: Session, batch: Batch) -> None:
    client.submit(f"/batches/{batch.id}/quality", TYPED)
    look_id = session.scalars(select(QualityCheck.id)).one()
    session.rollback()
    path = f"/quality/{look_id}/withdraw"
    assert client.submit(path, {"reason": ""}).status_code == 422
    page = client.submit(path, {"reason": "wrong batch"}, follow_redirects=True).text
    assert "withdrawn" in page
    assert "wrong batch" in page
    assert "Nobody has looked yet." in client.get(f"/batches/{batch.id}").text
