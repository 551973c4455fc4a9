"""The forms of a supply and of a movement of its stock."""

from __future__ import annotations

from typing import Any

from wtforms import HiddenField

from nursery.i18n import lazy as _l
from nursery.models import Container
from nursery.models.supplies import SupplyKind, SupplyMovementKind, SupplyUnit
from nursery.services.supplies.records import BOUNDS
from nursery.services.supplies.stock import AMOUNT, COST
from nursery.services.supplies.words import KIND_LABELS, MOVEMENT_LABELS, UNIT_LABELS
from nursery.web.fields import ChoiceField, DayField, NumberField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordSelect


class SupplyForm(RecordForm):
    """One material."""

    name = TextField(_l("Name"), most=120, needed=True, description=_l("As it is ordered."))
    kind = ChoiceField(
        _l("Kind"),
        kind=SupplyKind,
        labels=KIND_LABELS,
        description=_l(
            "Containers and substrate follow from the trays that the plan fills. Labels, feed and others follow"
            " from the plants, once you say below how much a thousand plants take."
        ),
    )
    unit = ChoiceField(
        _l("Unit"),
        kind=SupplyUnit,
        labels=UNIT_LABELS,
        description=_l("Containers and labels are counted in pieces, substrate in litres."),
    )
    container_id = RecordSelect(
        _l("Container"), model=Container, description=_l("Only for containers: which trays they are.")
    )
    pack = NumberField(_l("In a pack"), bounds=BOUNDS["pack"], digits=3, description=_l("Left empty: 1."))
    price_per_pack = NumberField(
        _l("Price of a pack"), bounds=BOUNDS["price_per_pack"], digits=2, description=_l("In your own currency.")
    )
    supplier = TextField(_l("Supplier"), most=120)
    lead_days = WholeNumberField(
        _l("Days to delivery"), bounds=BOUNDS["lead_days"], description=_l("From order to yard. Left empty: 14.")
    )
    safety_stock = NumberField(
        _l("Safety stock"), bounds=BOUNDS["safety_stock"], digits=3, description=_l("Never to fall below.")
    )
    use_per_1000_plants = NumberField(
        _l("Use for 1,000 plants"),
        bounds=BOUNDS["use_per_1000_plants"],
        digits=3,
        description=_l("For labels, feed and others, in the unit above."),
    )

    groups = (
        Group(_l("The material"), (("name",), ("kind", "unit"), ("container_id",), ("use_per_1000_plants",))),
        Group(_l("Buying it"), (("supplier",), ("pack", "price_per_pack"), ("lead_days", "safety_stock"))),
        Group(_l("More"), (("notes",),)),
    )


class MovementForm(RecordForm):
    """What happened to the stock."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    kind = ChoiceField(_l("What happened"), kind=SupplyMovementKind, labels=MOVEMENT_LABELS)
    amount = NumberField(
        _l("Amount"),
        bounds=AMOUNT,
        digits=3,
        needed=True,
        description=_l("Of a count: all that there is. Otherwise what came or went."),
    )
    happened_on = DayField(_l("Day"), needed=True)
    cost = NumberField(_l("Paid"), bounds=COST, digits=2, description=_l("Only for what was received."))
    reason = TextField(_l("Reason or remark"), most=200)
    version = HiddenField()

    def moved(self) -> dict[str, Any]:
        """What the service takes."""
        return {name: self._fields[name].data for name in ("kind", "amount", "happened_on", "cost", "reason")}
