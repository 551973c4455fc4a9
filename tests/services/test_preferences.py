"""The nursery's own defaults."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change, Preferences
from nursery.services.preferences import change_preferences, read_preferences


def test_defaults_are_there_from_the_start(session: Session) -> None:
    row = read_preferences(session)
    assert (row.assurance, row.spare_trays, row.cost_cell) == (0.8, 0, 0.15)


def test_a_change_is_kept_and_on_record_once(session: Session) -> None:
    read_preferences(session)
    values = {"organisation": "Guadorva trust", "assurance": 0.9}
    change_preferences(session, "Rui", values=values)
    change_preferences(session, "Rui", values=values)
    assert session.execute(select(Change.person, Change.action, Change.details)).all() == [
        ("Rui", "changed", {"organisation": ["", "Guadorva trust"], "assurance": [0.8, 0.9]})
    ]
    assert session.scalars(select(Preferences.assurance)).all() == [0.9]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("assurance", 0.0),
        ("assurance", 1.0),
        ("spare_trays", -1),
        ("cost_seed", -0.1),
        ("cost_cell", None),
        ("wage_per_hour", -1),
        ("overhead", 1.5),
        ("currency", "QQQ"),
    ],
)
def test_what_cannot_be_is_refused(session: Session, name: str, value: Any) -> None:
    with pytest.raises(Invalid) as refused:
        change_preferences(session, "Rui", values={name: value})
    assert list(refused.value.errors) == [name]
