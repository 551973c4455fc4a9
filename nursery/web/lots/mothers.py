"""What was seen in the field and the bags of single mothers, for a lot's page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.bags import Sex
from nursery.models.lots import Material
from nursery.services.attachments import list_attachments
from nursery.services.bags import list_bags
from nursery.services.collecting import RIPENESS_LABELS, SOURCE, crop_verdict, cut_test, sampled_text
from nursery.services.mothers import ENOUGH, FEW, LARGE_SHARE, PLENTY, Worth, lot_worth
from nursery.web.lots.labels import SEX_LABELS
from nursery.web.session import db

#: Bags listed on the page; the rest stands in the form.
SHOWN = 60


def context(row: Lot) -> Mapping[str, Any]:
    """Values of the part."""
    bags = list_bags(db(), row)
    worth = lot_worth(db(), row)
    total = sum(bag.weight_mg for bag in bags)
    return {
        "field_facts": _facts(row),
        "crop": crop_verdict(row),
        "crop_source": SOURCE,
        "worth": worth,
        "worth_inputs": _inputs(worth),
        "worth_source": _source(),
        "large_share": LARGE_SHARE,
        "bags": [(bag, bag.weight_mg / 1000, bag.weight_mg / total, _sex(bag.sex)) for bag in bags[:SHOWN]],
        "bags_left_out": max(0, len(bags) - SHOWN),
        "bags_by_piece": row.material is Material.CUTTINGS,
        "files": list_attachments(db(), row),
    }


def _facts(row: Lot) -> list[tuple[Any, ...]]:
    cut = cut_test(row)
    told = interval = ""
    if cut is not None:
        told = _(
            "%(sound)s of %(total)s sound, %(share)s",
            sound=format_number(cut.sound),
            total=format_number(cut.total),
            share=format_percent(cut.share),
        )
        interval = _(
            "true share between %(low)s and %(high)s in 95 of 100 samples (Wilson interval)",
            low=format_percent(cut.low),
            high=format_percent(cut.high),
        )
    ripeness = str(RIPENESS_LABELS[row.ripeness]) if row.ripeness else ""
    return [
        (_("Plants sampled"), sampled_text(row)),
        (_("Share of the ripe seed taken"), format_percent(row.crop_share, 1) if row.crop_share else ""),
        (_("Cut test"), told, interval),
        (_("Ripeness"), ripeness),
        (_("Habitat"), row.habitat),
    ]


def _inputs(worth: Worth) -> list[tuple[str, str, str]]:
    balance = worth.balance
    if balance is None or worth.largest is None:
        return []
    return [
        (_("Mother plants"), format_number(worth.mothers), _("by their bags")),
        (
            _("Largest share"),
            format_percent(float(balance.largest_share), 1),
            _("bag %(tag)s", tag=worth.largest_tag),
        ),
        *_parts(worth),
        (
            _("Status number of the plants"),
            _(
                "%(low)s to %(high)s",
                low=format_number(float(balance.status_number_low), 1),
                high=format_number(float(balance.status_number_high), 1),
            ),
            _(
                "low: pollen from the same mothers in the same shares; high: from ever so many others; for"
                " cuttings limited by the rarer sex"
            ),
        ),
    ]


def _parts(worth: Worth) -> list[tuple[str, str, str]]:
    """The lots in a mixture, each with its share and what it is worth alone."""
    return [
        (
            part.lot.code,
            format_percent(part.share, 1),
            _("worth %(effective)s mothers alone", effective=format_number(part.effective, 1)),
        )
        for part in worth.parts
    ]


def _source() -> str:
    return _(
        "The status number is after Lindgren and others 1996 (from memory). Below %(few)s: less than the trees"
        " held adequate for ash, USFS National Seed Laboratory 2008. At least %(enough)s individuals: NordGen"
        " quality-assurance appendix, TemaNord 2025:515. %(plenty)s: US Seeds of Success technical protocol §9.",
        few=FEW,
        enough=ENOUGH,
        plenty=PLENTY,
    )


def _sex(sex: Sex | None) -> str:
    return str(SEX_LABELS[sex]) if sex else ""
