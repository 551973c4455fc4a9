"""How supplies, their units and movements are said."""

from __future__ import annotations

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.supplies import SupplyKind, SupplyMovementKind, SupplyUnit

KIND_LABELS = {
    SupplyKind.CONTAINER: _l("Containers"),
    SupplyKind.SUBSTRATE: _l("Substrate"),
    SupplyKind.LABEL: _l("Labels"),
    SupplyKind.FEED: _l("Feed"),
    SupplyKind.OTHER: _l("Other"),
}
UNIT_LABELS = {
    SupplyUnit.PIECES: _l("pieces"),
    SupplyUnit.LITRES: _l("litres"),
    SupplyUnit.KILOGRAMS: _l("kilograms"),
}
MOVEMENT_LABELS = {
    SupplyMovementKind.COUNTED: _l("Counted"),
    SupplyMovementKind.RECEIVED: _l("Received"),
    SupplyMovementKind.USED: _l("Used"),
    SupplyMovementKind.DISCARDED: _l("Discarded"),
}
#: The unit of kinds that have only one.
UNIT_OF = {
    SupplyKind.CONTAINER: SupplyUnit.PIECES,
    SupplyKind.SUBSTRATE: SupplyUnit.LITRES,
    SupplyKind.LABEL: SupplyUnit.PIECES,
}


def amount_text(amount: float, unit: SupplyUnit) -> str:
    """An amount with its unit."""
    number = format_number(amount, 2)
    if unit is SupplyUnit.LITRES:
        return _("%(number)s l", number=number)
    if unit is SupplyUnit.KILOGRAMS:
        return _("%(number)s kg", number=number)
    if amount == int(amount):
        return ngettext("%(num)s piece", "%(num)s pieces", int(amount))
    return _("%(number)s pieces", number=number)
