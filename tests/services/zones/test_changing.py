"""What is said about a zone can be changed, and an archived zone comes back unless another took its code."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models.zones import Zone
from nursery.services import records
from nursery.services.zones import change_zone, restore_zone
from tests.services.zones.test_placing import zone


def changed(session: Session, row: Zone, today: dt.date, **values: Any) -> Zone:
    return change_zone(session, "Ana Seabra", row=row, values=values, today=today)


def test_limits_and_code_are_checked(session: Session, today: dt.date) -> None:
    zone(session, "GV-A", -8)
    row = zone(session, "GV-B", -7)

    assert changed(session, row, today, lowest_m=100.0, highest_m=400.0).highest_m == 400
    for values, errors in (
        (
            {"lowest_m": 500.0},
            {"highest_m": "The zone ends at 400 m, below where it begins, at 500 m. Swap the two."},
        ),
        ({"code": "GV-A"}, {"code": "A zone with the code “GV-A” is on the map already. Archive that one first."}),
    ):
        with pytest.raises(Invalid) as refused:
            changed(session, row, today, **values)
        assert refused.value.errors == errors


def test_a_zone_comes_back_unless_its_code_is_taken(session: Session) -> None:
    first = zone(session, "GV-A", -8)
    records.archive(session, "Ana Seabra", first)
    assert restore_zone(session, "Ana Seabra", first).archived_at is None

    records.archive(session, "Ana Seabra", first)
    zone(session, "GV-A", -7)
    with pytest.raises(Invalid, match="is on the map already"):
        restore_zone(session, "Ana Seabra", first)
