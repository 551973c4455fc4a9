"""Permits for tests, valid through 2026 unless told otherwise."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Permit, PermitLine


def make_permit(session: Session, *lines: dict[str, Any], **values: Any) -> Permit:
    """A permit with lines; a line without an area holds anywhere."""
    defaults = {
        "number": "COL 2026/1",
        "authority": "River Council",
        "valid_from": dt.date(2026, 1, 1),
        "valid_to": dt.date(2026, 12, 31),
    }
    permit = Permit(**{**defaults, **values})
    permit.lines = [PermitLine(**line) for line in lines]
    session.add(permit)
    session.flush()
    return permit
