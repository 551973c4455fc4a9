"""Calculators for sowing: cells, the whole chain of a sowing, open beds."""

from __future__ import annotations

from typing import Any

from nursery.catalog.vocabulary import METHODS
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.beds import bed_sowing
from nursery.planning.cells import cell_fill, least_cost_seeds_per_cell
from nursery.planning.quantities import one_per_cell, quantities
from nursery.planning.words import Method
from nursery.services.calculators import bounds
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.fields import AUTO, Choice, Fraction, Number, Whole, WholeOrAuto
from nursery.services.limits import Bounds


def _run_cell_fill(*, germination: float, seeds_per_cell: int) -> dict[str, Any]:
    fill = cell_fill(germination, seeds_per_cell)
    return {"filled": float(fill.filled), "empty": float(fill.empty), "multiple": float(fill.multiple)}


def _run_sowing(
    *, seeds_per_cell: int | str | None, cost_seed: Any, cost_thin: Any, cost_cell: Any, **given: Any
) -> dict[str, Any]:
    method = given["method"]
    costs = {"cost_seed": cost_seed, "cost_thin": cost_thin, "cost_cell": cost_cell}
    errors = _missing_for(method, seeds_per_cell, given, costs)
    if errors:
        raise Invalid(errors)
    if method == Method.DIRECT and seeds_per_cell == AUTO:
        seeds_per_cell = int(least_cost_seeds_per_cell(given["germination"] * given["emergence"], **costs))
    elif not isinstance(seeds_per_cell, int):
        seeds_per_cell = 1
    weighed = given["tsw_g"] is not None
    given["tsw_g"] = given["tsw_g"] or 0.0
    given["cells_per_tray"] = given["cells_per_tray"] or 1
    found = quantities(seeds_per_cell=seeds_per_cell, **given)
    whole = ("plants_to_plant", "ready_plants", "seedlings", "cells", "trays", "cells_sown")
    return {
        **{name: int(getattr(found, name)) for name in whole},
        "seeds_per_cell": int(one_per_cell(method, seeds_per_cell)) or None,
        "seeds": int(found.seeds),
        "grams": float(found.grams) if weighed else None,
    }


def _missing_for(
    method: Method, seeds_per_cell: int | str | None, given: dict[str, Any], costs: dict[str, Any]
) -> dict[str, str]:
    errors = {}
    if given["cells_per_tray"] is None and method != Method.BAREROOT:
        errors["cells_per_tray"] = _("Missing: give the cells of one tray.")
    if given["tsw_g"] is None and method != Method.CUTTINGS:
        errors["tsw_g"] = _("Missing: give the weight of a thousand seeds in g.")
    if method == Method.DIRECT and seeds_per_cell is None:
        errors["seeds_per_cell"] = _("Missing: give a number, or “auto” with the three costs.")
    if method in {Method.PRESPROUTED, Method.PRICKED_OUT} and seeds_per_cell not in {None, AUTO, 1}:
        errors["seeds_per_cell"] = _(
            "%(number)s a cell does not fit this method, which sets one in each. Give 1, or choose direct sowing.",
            number=seeds_per_cell,
        )
    if method == Method.DIRECT and seeds_per_cell == AUTO:
        for name, cost in costs.items():
            if cost is None:
                errors[name] = _("Missing: “auto” seeds per cell weighs all three costs. Give this one too.")
    return errors


def _run_bed_sowing(**given: Any) -> dict[str, Any]:
    found = bed_sowing(**given)
    return {name: float(getattr(found, name)) for name in ("seeds_per_m2", "grams_per_m2", "grams")}


CELL_FILL = Calculator(
    name="cell-fill",
    title=_l("Empty and filled cells"),
    question=_l("How many cells stay empty, and how many must be thinned?"),
    fields=(
        Fraction("germination", _l("Germination"), help=_l("Chance that one seed gives a seedling.")),
        Whole("seeds_per_cell", _l("Seeds per cell"), bounds=bounds.SEEDS_PER_CELL),
    ),
    results=(
        Result("filled", _l("Cells with a seedling"), "fraction"),
        Result("empty", _l("Empty cells"), "fraction"),
        Result("multiple", _l("Cells with two seedlings or more"), "fraction"),
    ),
    formula=_l(
        "Empty is (1 − germination) to the power of the seeds per cell. Filled is the rest. Several is"
        " filled less the cells with exactly one: seeds × germination × (1 − germination) to the power of"
        " seeds − 1."
    ),
    source=_l("Binomial chances; the 95 % rule of Roy 1957, quoted in Schubert & Fowells, USDA Forest Service."),
    run=_run_cell_fill,
    example={"germination": 0.72, "seeds_per_cell": 2},
)

_SURVIVAL_HELP = _l("The part that is left.")
SOWING = Calculator(
    name="sowing",
    title=_l("From plants wanted back to seed"),
    question=_l("How many cells, trays and grams of seed do so many plants take?"),
    fields=(
        Whole(
            "plants",
            _l("Plants wanted"),
            bounds=bounds.PLANTS,
            help=_l("Survivors, if field survival is below 1."),
        ),
        Choice("method", _l("Method"), choices=Method, labels=METHODS),
        Fraction(
            "germination", _l("Germination"), bounds=bounds.POSITIVE, help=_l("For cuttings, the part that roots.")
        ),
        Fraction("emergence", _l("Emergence"), bounds=bounds.POSITIVE, default=1.0, help=_SURVIVAL_HELP),
        Fraction("establishment", _l("Establishment"), bounds=bounds.POSITIVE, default=1.0, help=_SURVIVAL_HELP),
        Fraction(
            "hardening", _l("Survival of hardening"), bounds=bounds.POSITIVE, default=1.0, help=_SURVIVAL_HELP
        ),
        Fraction("cull", _l("Culled at grading"), bounds=bounds.LOSS, default=0.0),
        Fraction("handling_loss", _l("Lost in handling"), bounds=bounds.LOSS, default=0.0),
        Fraction("field_survival", _l("Field survival"), bounds=bounds.POSITIVE, default=1.0, help=_SURVIVAL_HELP),
        WholeOrAuto(
            "seeds_per_cell",
            _l("Seeds per cell"),
            bounds=bounds.SEEDS_PER_CELL,
            default=None,
            help=_l("A number, or “auto” for the least cost of a filled cell. One in each but for direct sowing."),
        ),
        Whole(
            "cells_per_tray",
            _l("Cells per tray"),
            bounds=bounds.CELLS_PER_TRAY,
            default=None,
            help=_l("Not for beds."),
        ),
        Number(
            "tsw_g",
            _l("Thousand-seed weight"),
            unit="g",
            bounds=bounds.TSW_G,
            default=None,
            help=_l("Not for cuttings."),
        ),
        Fraction("purity", _l("Purity"), bounds=bounds.POSITIVE, default=1.0),
        Whole("spare_trays", _l("Spare trays"), bounds=Bounds(0, 100_000), default=0),
        Number("cost_seed", _l("Cost of a seed"), default=None, help=_l("For “auto”: any currency or hours.")),
        Number("cost_thin", _l("Cost of thinning one seedling"), default=None, help=_l("For “auto”.")),
        Number("cost_cell", _l("Cost of one cell sown"), default=None, help=_l("For “auto”.")),
    ),
    results=(
        Result("plants_to_plant", _l("Plants to plant"), "whole"),
        Result("ready_plants", _l("Ready plants"), "whole"),
        Result("seedlings", _l("Cells with a seedling"), "whole"),
        Result("cells", _l("Cells needed"), "whole"),
        Result("trays", _l("Trays"), "whole"),
        Result("cells_sown", _l("Cells sown"), "whole"),
        Result("seeds_per_cell", _l("Seeds per cell"), "whole"),
        Result("seeds", _l("Seeds"), "whole"),
        Result("grams", _l("Seed to weigh out"), "number", "g"),
    ),
    formula=_l(
        "Plants ÷ field survival = plants to plant; ÷ (1 − handling loss) = ready plants; ÷ ((1 − cull) ×"
        " hardening × establishment) = cells with a seedling; ÷ the part of cells that fill = cells; ÷ cells"
        " per tray, rounded up, + spare trays = trays. Whole trays are sown. Seeds × thousand-seed weight ÷"
        " 1000 ÷ purity = grams. Nothing is rounded on the way; each whole thing is rounded up once."
    ),
    source=_l("The chain is common practice of container nurseries; cells fill as in the calculator “cell-fill”."),
    run=_run_sowing,
    example={
        "plants": 1200,
        "method": "direct",
        "germination": 0.65,
        "emergence": 0.9,
        "establishment": 0.92,
        "hardening": 0.97,
        "cull": 0.08,
        "handling_loss": 0.02,
        "field_survival": 0.75,
        "seeds_per_cell": "auto",
        "cells_per_tray": 54,
        "tsw_g": 24,
        "purity": 0.95,
        "spare_trays": 1,
        "cost_seed": 0.02,
        "cost_thin": 0.03,
        "cost_cell": 0.25,
    },
)

BED_SOWING = Calculator(
    name="bed-sowing",
    title=_l("Seed for open beds"),
    question=_l("How much seed do open beds take for so many plants per m²?"),
    fields=(
        Number("density_per_m2", _l("Plants wanted per m²"), unit="1/m²", bounds=Bounds(0, 100_000)),
        Fraction("germination", _l("Germination"), bounds=bounds.POSITIVE),
        Fraction("purity", _l("Purity"), bounds=bounds.POSITIVE),
        Number("tsw_g", _l("Thousand-seed weight"), unit="g", bounds=bounds.TSW_G),
        Fraction("survival", _l("Survival to lifting"), bounds=bounds.POSITIVE),
        Number("area_m2", _l("Bed area"), unit="m²", bounds=Bounds(0, 10_000_000)),
    ),
    results=(
        Result("seeds_per_m2", _l("Seeds per m²"), "number", "1/m²"),
        Result("grams_per_m2", _l("Seed per m²"), "number", "g/m²"),
        Result("grams", _l("Seed in all"), "number", "g"),
    ),
    formula=_l(
        "Density ÷ (germination × survival) = seeds per m²; × thousand-seed weight ÷ 1000 ÷ purity = g per"
        " m²; × area = g."
    ),
    source=_l("Usual formula of bareroot nursery manuals, from memory."),
    run=_run_bed_sowing,
    example={
        "density_per_m2": 120,
        "germination": 0.7,
        "purity": 0.93,
        "tsw_g": 62,
        "survival": 0.8,
        "area_m2": 24,
    },
)
