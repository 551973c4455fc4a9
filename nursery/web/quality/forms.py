"""The form of a look at the quality of a batch."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from nursery.i18n import lazy as _l
from nursery.services.batches.moving import MOST
from nursery.services.limits import Bounds
from nursery.services.quality.words import DEFECT_LABELS, Defect
from nursery.services.understanding import parse_number
from nursery.web.fields import DayField, TextField, TypedField, WholeNumberField, plain_number
from nursery.web.forms import RecordForm


class MeasuresField(TypedField):
    """Measures typed one after another, with blanks between: ``22 25,5 31``."""

    def __init__(self, label: Any = None, *, unit: str, **options: Any) -> None:
        super().__init__(label, render_kw={"inputmode": "text", "autocomplete": "off"}, **options)
        self.unit = unit

    def parse(self, text: str) -> list[float]:
        """The numbers."""
        return [parse_number(part) for part in re.split(r"[\s;/]+", text.strip(" ;/,.")) if part]

    def write(self, value: Sequence[float]) -> str:
        """With blanks between."""
        return " ".join(plain_number(one, 2) for one in value)


class _LookForm(RecordForm):
    checked_on = DayField(_l("Looked at on"), needed=True)
    looked_at = WholeNumberField(_l("Plants looked at"), bounds=Bounds(1, MOST), needed=True)
    fair = WholeNumberField(
        _l("Of these, fair and marketable"), bounds=Bounds(0, MOST), needed=True,
        description=_l("Without the defects below, and in a state to be planted."),
    )  # fmt: skip
    heights_cm = MeasuresField(_l("Heights"), unit="cm", description=_l("One after another, such as 22 25.5 31."))
    collars_mm = MeasuresField(
        _l("Root collars"), unit="mm", description=_l("One after another, such as 3 3.5 4.")
    )
    notes = TextField(_l("Remark"), most=400)

    def asked(self) -> Sequence[Any]:
        """The fields but those of defects, for the page."""
        names = ("checked_on", "looked_at", "fair", "heights_cm", "collars_mm", "notes")
        return [self._fields[name] for name in names]

    def seen(self) -> Sequence[Any]:
        """The fields of defects."""
        return [self._fields[f"defect-{one.value}"] for one in Defect]

    def defects(self) -> dict[str, int]:
        """Plants by defect."""
        return {one.value: self[f"defect-{one.value}"].data or 0 for one in Defect}


def look_form(*arguments: Any, **options: Any) -> Any:
    """The form, with a field for each defect."""
    fields = {
        f"defect-{one.value}": WholeNumberField(DEFECT_LABELS[one], bounds=Bounds(0, MOST)) for one in Defect
    }
    return type("LookForm", (_LookForm,), fields)(*arguments, **options)


class WithdrawForm(RecordForm):
    """Why a look is withdrawn."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    reason = TextField(_l("Reason"), most=400, needed=True, description=_l("It stays on record."))
