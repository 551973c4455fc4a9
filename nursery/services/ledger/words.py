"""How amounts and acts are said."""

from __future__ import annotations

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.models.movements import Measure, MovementKind

KIND_LABELS = {
    MovementKind.OPENING: _l("Held when the ledger began"),
    MovementKind.COLLECTED: _l("Collected"),
    MovementKind.EXTRACTED: _l("Extracted from fruit"),
    MovementKind.CLEANED: _l("Cleaned"),
    MovementKind.SAMPLED: _l("Sampled for a test"),
    MovementKind.WITHDRAWN: _l("Withdrawn for sowing"),
    MovementKind.SPLIT: _l("Split"),
    MovementKind.MIXED: _l("Mixed"),
    MovementKind.GIVEN: _l("Given away"),
    MovementKind.DISCARDED: _l("Discarded"),
    MovementKind.RECOUNTED: _l("Recounted"),
    MovementKind.REVERSAL: _l("Taken back"),
}
MEASURE_LABELS = {Measure.FRUIT: _l("fruit"), Measure.SEED: _l("clean seed"), Measure.PIECES: _l("pieces")}


def amount_text(measure: Measure, amount: int) -> str:
    """An amount of milligrams or pieces as people say it: ``12.5 g``, ``1.25 kg of fruit``, ``340 pieces``."""
    if measure is Measure.PIECES:
        return ngettext("%(num)s piece", "%(num)s pieces", amount)
    if abs(amount) >= 1_000_000:
        weight = _("%(kilograms)s kg", kilograms=format_number(amount / 1e6, 6))
    else:
        weight = _("%(grams)s g", grams=format_number(amount / 1e3, 3))
    return _("%(weight)s of fruit", weight=weight) if measure is Measure.FRUIT else weight


def held_text(lot: Lot) -> str:
    """What a lot holds: clean seed or pieces, and fruit where there is some."""
    held = (
        amount_text(Measure.PIECES, lot.pieces or 0)
        if lot.amount_mg is None
        else amount_text(Measure.SEED, lot.amount_mg)
    )
    if not lot.fruit_mg:
        return held
    fruit = amount_text(Measure.FRUIT, lot.fruit_mg)
    return _("%(held)s and %(fruit)s", held=held, fruit=fruit) if lot.amount_mg or lot.pieces else fruit
