"""Changing what is said about a zone, and bringing one back; its outline stays as it was published."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models.zones import Zone, ZoneKind
from nursery.services import checking, limits, records

#: As wide as the columns of populations and sites that bear the code.
LONGEST = {ZoneKind.REGION: 24, ZoneKind.BASIN: 80}
BOUNDS = {"lowest_m": limits.ELEVATION_M, "highest_m": limits.ELEVATION_M}


def change_zone(
    session: Session,
    actor: str,
    *,
    row: Zone,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Zone:
    """Change a zone's code, name, limits or source."""
    del today
    merged = {**checking.columns_of(row), **values}
    refused = checking.beyond(values, BOUNDS) | refuse_limits(merged.get("lowest_m"), merged.get("highest_m"))
    if (wrong := refuse_code(row.kind, str(merged["code"]))) is not None:
        refused["code"] = wrong
    elif row.archived_at is None and (taken := _taken(session, row, str(merged["code"]))):
        refused["code"] = taken
    if refused:
        raise Invalid(refused)
    return records.update(session, actor, row, values, version=version)


def restore_zone(session: Session, actor: str, row: Zone) -> Zone:
    """Bring a zone back, unless another of the same code has taken its place."""
    if row.archived_at is not None and (taken := _taken(session, row, row.code)):
        raise Invalid({"code": taken})
    return records.restore(session, actor, row)


def refuse_limits(lowest_m: float | None, highest_m: float | None) -> dict[str, str]:
    """Limits the wrong way round."""
    if lowest_m is None or highest_m is None or lowest_m <= highest_m:
        return {}
    return {
        "highest_m": _(
            "The zone ends at %(highest)s m, below where it begins, at %(lowest)s m. Swap the two.",
            highest=format_number(highest_m),
            lowest=format_number(lowest_m),
        )
    }


def refuse_code(kind: ZoneKind, code: str) -> str | None:
    """A code that populations and sites could not bear."""
    if len(code) > LONGEST[kind]:
        return _(
            "“%(code)s” has %(long)s characters; at most %(most)s fit. Choose the property with the short code.",
            code=f"{code[:40]}…",
            long=len(code),
            most=LONGEST[kind],
        )
    return None


def taken_codes(
    session: Session, kind: ZoneKind, species_id: int | None, jurisdiction: str
) -> Sequence[tuple[int, str]]:
    """Id and code of the zones in use among which a code must be the only one of its kind."""
    query = select(Zone.id, Zone.code).where(
        Zone.kind == kind,
        Zone.species_id == species_id if species_id is not None else Zone.species_id.is_(None),
        Zone.jurisdiction == jurisdiction,
        Zone.archived_at.is_(None),
    )
    return [(zone_id, code) for zone_id, code in session.execute(query)]


def _taken(session: Session, row: Zone, code: str) -> str | None:
    with session.no_autoflush:
        others = taken_codes(session, row.kind, row.species_id, row.jurisdiction)
    if any(other == code and zone_id != row.id for zone_id, other in others):
        return _("A zone with the code “%(code)s” is on the map already. Archive that one first.", code=code)
    return None
