"""Bench that trays take by stage, and the water it drinks: working figures or the nursery's own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Container, StageRoom
from nursery.planning.arrays import Floats
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.space import footprint
from nursery.services import auditing
from nursery.services.limits import Bounds

#: Common practice: five times its own ground is more than any tray is given; more than 30 mm a day drowns plants.
BOUNDS = {"spacing": Bounds(1, 5), "water_l_per_m2_day": Bounds(0, 30)}


@dataclass(frozen=True, slots=True)
class Room:
    """Room and water of one stage; ``is_own`` where a person set them, else working figures (common practice)."""

    stage: Stage
    spacing: float
    water_l_per_m2_day: float | None
    is_own: bool
    person: str = ""


def rooms(session: Session) -> Mapping[Stage, Room]:
    """Room of every stage: what the nursery set, else the working figure."""
    own = {row.stage: row for row in session.scalars(select(StageRoom))}
    return {
        stage: Room(
            stage, own[stage].spacing, own[stage].water_l_per_m2_day, is_own=True, person=own[stage].person
        )
        if stage in own
        else Room(stage, footprint.SPACINGS[stage], None, is_own=False)
        for stage in STAGES
    }


def set_room(
    session: Session, actor: str, *, stage: Stage, spacing: float | None, water_l_per_m2_day: float | None
) -> None:
    """Set a stage's room and water; without a spacing it goes back to the working figure."""
    given = {"spacing": spacing, "water_l_per_m2_day": water_l_per_m2_day}
    refused = {
        name: told for name, value in given.items() if value is not None and (told := BOUNDS[name].refusal(value))
    }
    if refused:
        raise Invalid(refused)
    wanted = footprint.SPACINGS[stage] if spacing is None else spacing
    row = session.scalar(select(StageRoom).where(StageRoom.stage == stage))
    if row is None and wanted == footprint.SPACINGS[stage] and water_l_per_m2_day is None:
        return  # nothing of the nursery's own to keep
    if row is None:
        row = StageRoom(stage=stage, spacing=wanted, water_l_per_m2_day=water_l_per_m2_day, person=actor)
        session.add(row)
        auditing.record(session, actor, action="created", row=row, details={"spacing": [None, wanted]})
        return
    row.spacing, row.water_l_per_m2_day = wanted, water_l_per_m2_day
    if changed := auditing.changed_fields(row):
        row.person = actor
        auditing.record(session, actor, action="changed", row=row, details=changed)


def water_rates(session: Session) -> Floats | None:
    """Litres a day for a square metre of each stage, by position in `STAGES`; None where no rate is given."""
    found = [room.water_l_per_m2_day for room in rooms(session).values()]
    return None if not any(found) else np.array([rate or 0.0 for rate in found])


def tray_m2(container: Container | None) -> float:
    """Ground of one tray of a container, or of a flat where there is none."""
    if container is None:
        return footprint.FLAT_M2
    return float(
        footprint.tray_ground(
            _or_nan(container.tray_length_mm), _or_nan(container.tray_width_mm), container.cells_per_tray,
            container.cell_volume_cm3,
        )
    )  # fmt: skip


def is_measured(container: Container) -> bool:
    """Whether the tray's length and width are on record; else its ground is a working figure."""
    return bool(container.tray_length_mm and container.tray_width_mm)


def bench_area(session: Session, *, trays: float, container: Container | None, stage: Stage) -> float:
    """Bench in m² that trays take at a stage: trays × ground × spacing."""
    return float(footprint.bench_area(trays, tray_m2(container), rooms(session)[stage].spacing))


def _or_nan(value: float | None) -> float:
    return np.nan if value is None else value
