"""Where the numbers of a collection need come from, as arguments of the ``explained`` macro."""

from __future__ import annotations

from typing import Any

from nursery.catalog.vocabulary import BASES
from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.planning.collecting import MAX_SHARE
from nursery.planning.plan_needs import LEAST_MOTHERS
from nursery.planning.rounding import whole
from nursery.services.needs import Sheet
from nursery.services.planning.protocols import CUTTINGS_PER_MOTHER

Explanation = dict[str, Any]
TSW = "seed.thousand_seed_weight_g"


def plants(sheet: Sheet) -> Explanation:
    """Plants that wait for this seed."""
    return {
        "title": _("Plants waiting for this seed"),
        "inputs": [
            (line.site_name, format_number(line.plants), f"{line.season}/{(line.season + 1) % 100:02d}")
            for line in sheet.lines
        ],
        "formula": _("The plants of these plan lines that the lots in hand cannot give, added up."),
        "source": _("From the plan."),
    }


def amount(sheet: Sheet) -> Explanation:
    """Clean seed in grams."""
    basis = sheet.lines[0].basis if sheet.lines else {}
    tsw, purity = basis.get("tsw_g"), basis.get("purity")
    return {
        "title": _("Clean seed of %(species)s", species=sheet.need.species_name),
        "inputs": [
            (_("Seeds missing in all lines"), format_number(sheet.need.seeds)),
            (
                _("Thousand-seed weight, g"),
                format_number(tsw, 3),
                _basis(sheet, "seed.thousand_seed_weight_g", tsw),
            ),
            (_("Purity"), format_percent(purity, 1), _basis(sheet, "seed.purity", purity)),
        ],
        "formula": _("Seeds × thousand-seed weight ÷ 1,000 ÷ purity."),
        "source": _(
            "The seeds come from the plan lines: plants still missing, back through cull, hardening,"
            " establishment, emergence and germination to seeds, with the assurance asked for."
        ),
    }


def fruit(sheet: Sheet) -> Explanation:
    """Fruit in kilograms."""
    grams, kilograms = sheet.need.grams or 0.0, sheet.need.fruit_kg or 0.0
    extraction = grams / kilograms / 1000 if kilograms else None
    return {
        "title": _("Fruit of %(species)s as collected", species=sheet.need.species_name),
        "inputs": [
            (_("Clean seed, g"), format_number(grams, 1)),
            (
                _("Extraction yield"),
                format_percent(extraction, 1),
                _basis(sheet, "seed.extraction_yield", extraction),
            ),
        ],
        "formula": _("Clean seed ÷ extraction yield (clean seed from a weight of fruit)."),
        "source": "",
    }


def cuttings(sheet: Sheet) -> Explanation:
    """Cuttings as a number."""
    return {
        "title": _("Cuttings of %(species)s", species=sheet.need.species_name),
        "inputs": [
            (line.site_name, format_number(line.seeds), f"{line.season}/{(line.season + 1) % 100:02d}")
            for line in sheet.lines
        ],
        "formula": _("The cuttings that these plan lines still need, added up."),
        "source": _("From the plan: plants still missing, back through the losses of each stage and rooting."),
    }


def mothers(sheet: Sheet) -> Explanation:
    """Mother plants to visit."""
    if sheet.is_cuttings:
        by_amount, inputs, formula = _mothers_for_cuttings(sheet)
    else:
        by_amount, inputs, formula = _mothers_for_fruit(sheet)
    inputs.append((_("At least"), format_number(LEAST_MOTHERS), _("or all there are")))
    text = _(
        "At least 30 genetic individuals, better 100: NordGen quality-assurance appendix, TemaNord 2025:515."
        " At most a fifth (20 %) of the seed that is ripe on the day: US Seeds of Success technical protocol §9."
    )
    if max(by_amount, LEAST_MOTHERS) != sheet.need.mothers:
        text += " " + _(
            "A figure of this species was changed after the plan was made; the plan has the older one."
        )
    return {
        "title": _("Mother plants to collect from"),
        "inputs": inputs,
        "formula": formula,
        "source": text,
    }


def _mothers_for_fruit(sheet: Sheet) -> tuple[int, list[tuple[str, ...]], str]:
    kilograms = sheet.need.fruit_kg or 0.0
    crop = sheet.entry.seed.fruit_kg_per_mother if sheet.entry else None
    by_amount = int(whole(kilograms / (crop * MAX_SHARE))) if crop else 0
    inputs = [
        (_("Fruit, kg"), format_number(kilograms, 2)),
        (_("Crop of one plant, kg"), format_number(crop, 2), _basis(sheet, "seed.fruit_kg_per_mother", crop)),
        (_("Share taken of it, at most"), format_percent(MAX_SHARE)),
        (_("Plants by that"), format_number(by_amount)),
    ]
    return (
        by_amount,
        inputs,
        _("Fruit ÷ (crop of one plant × share taken), rounded up, and never below the least."),
    )


def _mothers_for_cuttings(sheet: Sheet) -> tuple[int, list[tuple[str, ...]], str]:
    each = (sheet.entry.collecting.cuttings_per_mother if sheet.entry else None) or CUTTINGS_PER_MOTHER
    by_amount = int(whole(sheet.need.seeds / each))
    inputs = [
        (_("Cuttings"), format_number(sheet.need.seeds)),
        (_("Cuttings from one plant"), format_number(each), _basis(sheet, "collecting.cuttings_per_mother", each)),
        (_("Plants by that"), format_number(by_amount)),
    ]
    return by_amount, inputs, _("Cuttings ÷ cuttings from one plant, rounded up, and never below the least.")


def each_gives(sheet: Sheet) -> str:
    """What to take of one mother plant, so that all give alike."""
    if sheet.is_cuttings:
        number = int(whole(sheet.need.seeds / sheet.need.mothers))
        return ngettext("%(num)s cutting from each", "%(num)s cuttings from each", number)
    grams = 1000 * (sheet.need.fruit_kg or 0.0) / sheet.need.mothers
    return _("about %(grams)s g of fruit from each", grams=format_number(grams, 0 if grams >= 10 else 1))


def _basis(sheet: Sheet, path: str, used: float | None) -> str:
    """Where a figure of the catalogue comes from, if it still is the one that the plan used."""
    figure = sheet.entry.figures().get(path) if sheet.entry else None
    if figure is None or used is None:
        return _("as the plan has it; the catalogue gives no figure")
    if abs(figure.number - used) > 1e-6 * abs(used):
        return _("as the plan has it; the figure was changed since")
    told = str(BASES[figure.basis])
    return f"{told}: {', '.join(figure.sources)}" if figure.sources else told
