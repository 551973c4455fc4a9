"""Costs in words: each part with its money and where it comes from."""

from __future__ import annotations

from collections.abc import Sequence

from nursery.i18n import format_money, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.work.costs import PARTS, TRAY_USES, Part
from nursery.services.costing.costs import Side
from nursery.services.costing.prices import Prices

PART_LABELS = {
    Part.LABOUR: _l("Labour"),
    Part.SEED: _l("Seed"),
    Part.CONTAINERS: _l("Trays"),
    Part.SUBSTRATE: _l("Substrate"),
    Part.SUPPLIES: _l("Other supplies"),
    Part.EXPENSES: _l("Expenses"),
    Part.OVERHEAD: _l("Overhead"),
}


def money(cents: int, prices: Prices) -> str:
    """Cents as the locale writes the nursery's money."""
    return format_money(cents / 100, prices.currency)


def each(value: float | None, prices: Prices) -> str:
    """Money for one plant or seed: small amounts need more decimals."""
    return format_money(value, prices.currency, 3) if value is not None else ""


def parts_in_words(side: Side, prices: Prices) -> list[tuple[str, str, str]]:
    """Label, money and origin of every part that costs something, or should."""
    return [
        (str(PART_LABELS[part]), money(side.part(part), prices), source_of(part, side, prices))
        for part in PARTS
        if side.part(part) or side.quantity(part)
    ]


def source_of(part: Part, side: Side, prices: Prices) -> str:
    """Where the money of one part comes from."""
    amount = side.quantity(part)
    one = side.part(part) / 100 / amount if amount else None
    price = format_money(one, prices.currency) if part is Part.LABOUR else each(one, prices)
    if part in _MATERIALS and not side.part(part):
        return _("no price on record")
    if part is Part.OVERHEAD:
        return _("%(share)s of all other costs", share=format_percent(prices.overhead, 1))
    sentence = str(_SOURCES[part])
    return sentence % {
        "amount": format_number(amount, 1 if part is Part.LABOUR else 0),
        "price": price,
        "uses": TRAY_USES,
    }


_MATERIALS = (Part.CONTAINERS, Part.SUBSTRATE, Part.SUPPLIES)
_SOURCES = {
    Part.LABOUR: _l("%(amount)s h, %(price)s an hour on average"),
    Part.SEED: _l("%(amount)s seeds, %(price)s each on average"),
    Part.CONTAINERS: _l(
        "%(amount)s trays at %(price)s a season: a tray's price shared by %(uses)s uses (common practice, no"
        " source)"
    ),
    Part.SUBSTRATE: _l(
        "%(amount)s l at %(price)s: cells by their volume, and a fifth more for settling (common practice, no"
        " source)"
    ),
    Part.SUPPLIES: _l("labels, feed and others for %(amount)s plants"),
    Part.EXPENSES: _l("as written down; what is for all is shared out by plants"),
}


def missing_in_words(unpriced: Sequence[str], has_substrate_price: bool, unlogged: float) -> list[str]:
    """What is not in the sums, in sentences."""
    told = []
    if unpriced:
        told.append(
            _("No price is on record for: %(names)s. What they cost is missing here.", names="; ".join(unpriced))
        )
    if not has_substrate_price:
        told.append(_("No substrate has a price by the litre. What it costs is missing here."))
    if unlogged >= 0.05:
        told.append(
            _(
                "Tasks that are done had %(hours)s planned hours and none logged: that labour is missing in what"
                " was spent so far.",
                hours=format_number(unlogged, 1),
            )
        )
    return told
