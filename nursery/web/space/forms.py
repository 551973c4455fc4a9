"""The form of room and water by stage: two fields a stage, made from the list of stages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.space.footprint import SPACINGS
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.space.footprint import BOUNDS, Room
from nursery.web.fields import NumberField
from nursery.web.forms import Group, RecordForm


class RoomsForm(RecordForm):
    """Spacing and water of every stage."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    groups = tuple(
        Group(STAGE_LABELS[stage], ((f"spacing_{stage.value}", f"water_{stage.value}"),)) for stage in STAGES
    )

    @classmethod
    def filled(cls, rooms: Mapping[Stage, Room]) -> RoomsForm:
        """The form with what is in force; working figures stand beside their fields, not in them."""
        data: dict[str, Any] = {}
        for stage, room in rooms.items():
            data[f"spacing_{stage.value}"] = room.spacing if room.is_own else None
            data[f"water_{stage.value}"] = room.water_l_per_m2_day
        return cls(data=data)

    def of(self, stage: Stage) -> dict[str, float | None]:
        """What was typed for a stage."""
        return {
            "spacing": self._fields[f"spacing_{stage.value}"].data,
            "water_l_per_m2_day": self._fields[f"water_{stage.value}"].data,
        }

    def hint(self, name: str) -> str:
        """The working figure that stands in for an empty field."""
        kind, stage = name.split("_")
        if kind == "spacing":
            return _(
                "Left empty: %(times)s (a working figure, common practice, no source).",
                times=format_number(SPACINGS[Stage(stage)], 2),
            )
        return _("Left empty, no water is reckoned at this stage.")


for _stage in STAGES:
    setattr(
        RoomsForm,
        f"spacing_{_stage.value}",
        NumberField(_l("Bench as a multiple of the trays' ground"), bounds=BOUNDS["spacing"], digits=2),
    )
    setattr(
        RoomsForm,
        f"water_{_stage.value}",
        NumberField(
            _l("Water on a hot day"), bounds=BOUNDS["water_l_per_m2_day"], unit=_l("l/m² a day"), digits=2
        ),
    )
