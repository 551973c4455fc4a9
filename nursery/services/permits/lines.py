"""Lines of a permit: a species, its cap and its area."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Permit, PermitLine, Population, Site
from nursery.models.permits import AreaKind
from nursery.services import auditing, checking, limits
from nursery.services.permits.words import place_names

AREA_LABELS = {
    AreaKind.ANYWHERE: _l("Anywhere"),
    AreaKind.PLACES: _l("Named places"),
    AreaKind.POLYGON: _l("Outline on the map"),
}

CAP_PIECES = limits.Bounds(1, limits.PIECES.high)
_BOUNDS = {"cap_mg": limits.Bounds(1, limits.AMOUNT_G.high * 1000), "cap_pieces": CAP_PIECES}


def get_line(session: Session, permit: Permit, line_id: int) -> PermitLine:
    """A line of this permit, or ``NotFound``."""
    line = session.get(PermitLine, line_id)
    if line is None or line.permit_id != permit.id:
        raise NotFound(_("There is no such line in this permit."))
    return line


def save_line(
    session: Session, actor: str, *, permit: Permit, line: PermitLine | None, values: Mapping[str, Any]
) -> PermitLine:
    """Add a line to a permit, or change one; the permit's history tells it."""
    _refuse_archived(permit)
    checked = dict(values)
    if refused := checking.beyond(checked, _BOUNDS):
        raise Invalid(refused)
    kind = checked["area_kind"]
    checked["places"] = "; ".join(place_names(checked.get("places") or "")) if kind is AreaKind.PLACES else ""
    checked["polygon"] = checked.get("polygon") if kind is AreaKind.POLYGON else None
    if kind is AreaKind.PLACES and not checked["places"]:
        raise Invalid({"places": _("Name at least one place, or choose another kind of area.")})
    if kind is AreaKind.POLYGON and not checked["polygon"]:
        raise Invalid(
            {"polygon": _("Paste the outline as GeoJSON or choose a file, or choose another kind of area.")}
        )
    before = _told(line) if line is not None else None
    if line is None:
        line = PermitLine(permit=permit)
    for name, value in checked.items():
        setattr(line, name, value)
    session.add(line)
    session.flush()
    session.refresh(line, ["species"])
    after = _told(line)
    if after != before:
        auditing.record(session, actor, action="line", row=permit, details={"line": [before, after]})
    return line


def remove_line(session: Session, actor: str, *, permit: Permit, line: PermitLine) -> None:
    """Take a line out of a permit; what it said stays in the permit's history."""
    _refuse_archived(permit)
    before = _told(line)
    session.delete(line)
    session.flush()
    session.expire(permit, ["lines"])
    auditing.record(session, actor, action="line", row=permit, details={"line": [before, None]})


def unknown_places(session: Session, line: PermitLine) -> list[str]:
    """Places that a line names and no population or site has, each with the nearest known name if there is one."""
    names = place_names(line.places)
    if not names:
        return []
    known: dict[str, str] = {}
    for column in (Population.basin, Population.region_code, Population.code, Site.basin, Site.region_code):
        known |= {name.casefold(): name for name in session.scalars(select(column).where(column != "").distinct())}
    found = []
    for name in names:
        if name.casefold() not in known:
            near = difflib.get_close_matches(name.casefold(), known, n=1, cutoff=0.6)
            found.append(
                _("“%(name)s” is no basin, region or population on record. Did you mean %(near)s?",
                  name=name, near=known[near[0]])
                if near
                else _("“%(name)s” is no basin, region or population on record yet.", name=name)
            )  # fmt: skip
    return found


def _refuse_archived(permit: Permit) -> None:
    if permit.archived_at is not None:
        raise Conflict(_("This permit is archived. Bring it back first."))


def _told(line: PermitLine) -> str:
    """A line in one row of text, for the history."""
    cap = ""
    if line.cap_mg is not None:
        cap = f", {line.cap_mg / 1000:.12g} g"
    elif line.cap_pieces is not None:
        cap = f", {line.cap_pieces}"
    points = sum(len(ring) for ring in (line.polygon or {}).get("coordinates", []))
    area = line.places or (f"{line.area_kind} ({points})" if line.polygon else line.area_kind)
    return f"{line.species.scientific_name}{cap}, {area}"
