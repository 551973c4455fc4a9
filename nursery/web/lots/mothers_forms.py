"""The form of what was seen in the field."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.lots import Ripeness
from nursery.services.collecting import BOUNDS, LABELS, RIPENESS_LABELS
from nursery.web.fields import ChoiceField, FractionField, NotesField, WholeNumberField
from nursery.web.forms import Group, RecordForm


class OptionalChoiceField(ChoiceField):
    """One word of a list, or none."""

    def options(self) -> Sequence[tuple[str, str]]:
        """With nothing on top."""
        return [("", _("not noted")), *super().options()]

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The word, or None."""
        if valuelist and not valuelist[0]:
            self.data = None
            return
        super().process_formdata(valuelist)


class FieldForm(RecordForm):
    """What the crew saw on the day."""

    plants_present = WholeNumberField(
        LABELS["plants_present"],
        bounds=BOUNDS["plants_present"],
        description=_l("Plants of the species with seed, where you collected."),
    )
    mother_plants = WholeNumberField(
        _l("Plants sampled"),
        bounds=BOUNDS["mother_plants"],
        description=_l("Better 50 or more, at least 30, or all there are."),
    )
    crop_share = FractionField(
        LABELS["crop_share"],
        bounds=BOUNDS["crop_share"],
        description=_l("Of all ripe seed on the plants that day; at most 20 %. An estimate is enough."),
    )
    ripeness = OptionalChoiceField(LABELS["ripeness"], kind=Ripeness, labels=RIPENESS_LABELS)
    cut_total = WholeNumberField(
        LABELS["cut_total"],
        bounds=BOUNDS["cut_total"],
        description=_l("A knife slips: cut on a board, away from the hand."),
    )
    cut_sound = WholeNumberField(
        LABELS["cut_sound"],
        bounds=BOUNDS["cut_sound"],
        description=_l("Filled, firm, not eaten: the kernel looks as it should."),
    )
    habitat = NotesField(
        LABELS["habitat"],
        description=_l("Bank or slope, soil, water, what grows there, what was done: grazed, burnt, cut."),
    )
    notes = None  # type: ignore[assignment]  # WTForms' way to leave a field out

    groups = (
        Group(_l("Plants"), (("plants_present", "mother_plants"), ("crop_share", "ripeness"))),
        Group(_l("Cut test"), (("cut_total", "cut_sound"),)),
        Group(_l("Place"), (("habitat",),)),
    )

    def field_of(self, column: str) -> str:
        """Every column has its own field."""
        return column

    def values(self) -> dict[str, Any]:
        """Columns."""
        return {name: data for name, data in super().values().items() if name != "notes"}
