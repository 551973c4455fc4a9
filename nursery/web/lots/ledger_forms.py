"""Small forms, one for each act of the ledger."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, StoragePlace
from nursery.models.movements import Measure
from nursery.services import limits
from nursery.services.ledger import seed_measure
from nursery.web.fields import ChoiceField, DayField, NumberField, TextField
from nursery.web.forms import RecordForm
from nursery.web.lots.forms import UNIT_LABELS, Unit
from nursery.web.record_fields import RecordSelect
from nursery.web.session import today

WHAT_LABELS = {Measure.SEED: _l("Clean seed"), Measure.FRUIT: _l("Fruit"), Measure.PIECES: _l("Pieces")}


class ActForm(RecordForm):
    """Everything an act may ask for; each form keeps the fields that its act needs and its lot has."""

    what = ChoiceField(_l("Of what"), kind=Measure, labels=WHAT_LABELS)
    fruit = NumberField(_l("Fruit that was processed"), bounds=limits.FRUIT_KG, unit="kg", needed=True)
    amount = NumberField(_l("Amount"), needed=True)
    unit = ChoiceField(_l("Measured in"), kind=Unit, labels=UNIT_LABELS, default=Unit.GRAMS)
    storage_place_id = RecordSelect(_l("Kept in"), model=StoragePlace)
    code = TextField(_l("Code of the new lot"), most=24, description=_l("Left empty, the next code is given."))
    happened_on = DayField(_l("Day"), needed=True)
    reason = TextField(_l("Reason or remark"), most=400)

    def __init__(self, *arguments: Any, lot: Lot, names: Sequence[str], **options: Any) -> None:
        filled = {"happened_on": today(), "storage_place_id": lot.storage_place_id, **options.pop("data", {})}
        super().__init__(*arguments, data=filled, **options)
        self.lot = lot
        counted = seed_measure(lot) is Measure.PIECES
        kept = {*names, "happened_on", "reason"}
        if "unit" in kept and counted and not lot.fruit_mg:
            kept.discard("unit")
        if not lot.fruit_mg:
            kept.discard("what")
        for name in [name for name in self._fields if name not in kept]:
            del self[name]

    @property
    def measure(self) -> Measure:
        """What the amount is an amount of."""
        field = self._fields.get("what")
        if field is None or field.data is not Measure.FRUIT:
            return seed_measure(self.lot)
        return Measure.FRUIT

    @property
    def circumstances(self) -> dict[str, Any]:
        """Why and when, as every act takes them."""
        return {"reason": self.reason.data, "happened_on": self.happened_on.data, "today": today()}

    def asked(self) -> list[Any]:
        """The fields in order, for the page."""
        return [self._fields[name] for name in self._fields]

    def typed_amount(self) -> int:
        """Milligrams or pieces."""
        return stored_amount(self.measure, self.amount.data, self.unit.data if "unit" in self._fields else None)

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """Amounts within bounds, pieces whole."""
        sound = bool(super().validate(*arguments, **options))
        if "amount" not in self._fields or self.amount.errors:
            return sound
        refusal = refuse_amount(self.measure, self.amount.data, self.unit.data if "unit" in self._fields else None)
        if refusal:
            self.amount.errors = [refusal]
        return sound and refusal is None


def stored_amount(measure: Measure, typed: Any, unit: Unit | None) -> int:
    """What is typed in grams, kilograms or pieces as milligrams or pieces."""
    if measure is Measure.PIECES:
        return round(float(typed))
    return round(float(typed) * (1_000_000 if unit is Unit.KILOGRAMS else 1000))


def refuse_amount(measure: Measure, typed: Any, unit: Unit | None) -> str | None:
    """What is wrong with a typed amount, or None."""
    if measure is Measure.PIECES:
        if typed != int(typed):
            return _("Pieces are whole. Leave the decimals out.")
        return limits.PIECES.refusal(typed)
    if unit is Unit.PIECES:
        return _("This is weighed. Choose g or kg.")
    in_kilograms = unit is Unit.KILOGRAMS
    if measure is Measure.FRUIT:
        return limits.FRUIT_KG.refusal(typed if in_kilograms else typed / 1000)
    return (limits.AMOUNT_KG if in_kilograms else limits.AMOUNT_G).refusal(typed)
