"""Permits and the programme of tests, on the tests' day."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Permit, PermitLine
from nursery.services.catalogue import effective_entries
from nursery.services.programme import Programme, read_programme

TODAY = dt.date(2026, 11, 25)
OPENS, CLOSES = dt.date(2027, 10, 1), dt.date(2027, 11, 30)


def crop(session: Session) -> float:
    (entry,) = effective_entries(session).values()
    return entry.seed.fruit_kg_per_mother


def permit(session: Session, species: Any, *, number: str = "A 1", **values: Any) -> Permit:
    line = {name: values.pop(name) for name in ("cap_mg", "cap_pieces", "area_kind", "places") if name in values}
    defaults = {"authority": "Council", "valid_from": dt.date(2027, 1, 1), "valid_to": dt.date(2027, 12, 31)}
    made = Permit(number=number, **{**defaults, **values})
    made.lines = [PermitLine(species_id=species.id, **line)]
    session.add(made)
    session.flush()
    return made


def programme(session: Session, today: dt.date = TODAY) -> Programme:
    found = read_programme(session, today=today)
    assert found is not None
    return found
