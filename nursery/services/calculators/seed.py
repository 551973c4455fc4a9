"""Calculators for seed: what a lot holds, and its tests."""

from __future__ import annotations

from typing import Any

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.seedtests import (
    germination_test,
    moisture_content,
    pure_live_seed,
    seed_weight,
    seeds_per_kg,
)
from nursery.services.calculators import bounds
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Items
from nursery.services.calculators.fields import Flag, Fraction, Number, Whole
from nursery.services.limits import Bounds


def _run_seed_lot(*, purity: float, germination: float, tsw_g: float) -> dict[str, Any]:
    alive, pure = float(pure_live_seed(purity, germination)), float(seeds_per_kg(tsw_g))
    return {"pure_live_seed": alive, "seeds_per_kg": pure, "viable_seeds_per_kg": pure * alive}


def _run_seed_weight(*, replicates_g: list[float], seeds_per_replicate: int, chaffy: bool) -> dict[str, Any]:
    found = seed_weight(replicates_g, seeds_per_replicate, chaffy)
    numbers = {name: float(getattr(found, name)) for name in ("tsw_g", "sd_g", "cv_pct")}
    return {**numbers, "accepted": bool(found.accepted)}


def _run_germination(*, counts: list[int], seeds_per_replicate: int) -> dict[str, Any]:
    if max(counts) > seeds_per_replicate:
        raise Invalid(
            {
                "counts": _(
                    "%(count)s germinated of %(seeds)s seeds is not possible. Correct the count or the"
                    " seeds per"
                    " replicate.",
                    count=max(counts),
                    seeds=seeds_per_replicate,
                )
            }
        )
    found = germination_test(counts, seeds_per_replicate)
    names = ("mean_pct", "range_pct", "tolerance_pct", "accepted", "low_pct", "high_pct")
    return {name: getattr(found, name) for name in names}


def _run_moisture(*, empty_g: float, fresh_g: float, dry_g: float) -> dict[str, Any]:
    errors = {}
    if fresh_g <= empty_g:
        errors["fresh_g"] = _(
            "%(fresh)s g with seed is not more than the empty container. Give the weight with the container.",
            fresh=fresh_g,
        )
    elif not empty_g <= dry_g <= fresh_g:
        errors["dry_g"] = _(
            "%(dry)s g after drying must lie between the empty container and the fresh weight. Weigh again.",
            dry=dry_g,
        )
    if errors:
        raise Invalid(errors)
    return {"moisture_pct": float(moisture_content(empty_g, fresh_g, dry_g))}


SEED_LOT = Calculator(
    name="seed-lot",
    title=_l("What a seed lot holds"),
    question=_l("How much of a lot is seed that will grow?"),
    fields=(
        Fraction("purity", _l("Purity")),
        Fraction("germination", _l("Germination")),
        Number("tsw_g", _l("Thousand-seed weight"), unit="g", bounds=bounds.TSW_G),
    ),
    results=(
        Result("pure_live_seed", _l("Pure live seed, of the weight of the lot"), "fraction"),
        Result("seeds_per_kg", _l("Seeds in a kg of pure seed"), "number", "1/kg"),
        Result("viable_seeds_per_kg", _l("Seeds that germinate in a kg of the lot"), "number", "1/kg"),
    ),
    formula=_l(
        "Purity × germination = pure live seed. 1,000,000 ÷ thousand-seed weight = seeds per kg of pure"
        " seed; × pure live seed = germinating seeds per kg of the lot."
    ),
    source=_l("Common practice; pure live seed as in the Rangelands Gateway glossary."),
    run=_run_seed_lot,
    example={"purity": 0.92, "germination": 0.78, "tsw_g": 17.5},
)

SEED_WEIGHT = Calculator(
    name="seed-weight",
    title=_l("Thousand-seed weight from replicates"),
    question=_l("What do a thousand seeds weigh, and do the replicates agree?"),
    fields=(
        Items(
            "replicates_g",
            _l("Weights of the replicates"),
            unit="g",
            item=Number("weight", _l("Weight"), unit="g", bounds=bounds.GRAMS_ABOVE_0),
            least=2,
            most=100,
            help=_l("Usually eight."),
        ),
        Whole("seeds_per_replicate", _l("Seeds per replicate"), bounds=bounds.COUNT, default=100),
        Flag("chaffy", _l("Chaffy seed"), default=False, help=_l("Chaffy seed may vary more.")),
    ),
    results=(
        Result("tsw_g", _l("Thousand-seed weight"), "number", "g"),
        Result("sd_g", _l("Standard deviation of the replicates"), "number", "g"),
        Result("cv_pct", _l("Coefficient of variation"), "number", "%"),
        Result("accepted", _l("Within the limit"), "flag"),
    ),
    formula=_l(
        "Mean weight × 1000 ÷ seeds per replicate. Coefficient of variation: standard deviation (n − 1) ÷"
        " mean × 100; the limit is 4.0 %, for chaffy seed 6.0 %. Beyond it, weigh eight more."
    ),
    source=_l(
        "Variance formula: AOSA Rules, Appendix 4 tutorial, FRSA 2001. Limits from memory of the testing rules."
    ),
    run=_run_seed_weight,
    example={"replicates_g": [1.71, 1.68, 1.74, 1.7, 1.66, 1.73, 1.69, 1.72], "seeds_per_replicate": 100},
)

GERMINATION_TEST = Calculator(
    name="germination-test",
    title=_l("Germination test"),
    question=_l("How well does a lot germinate, and do the replicates agree?"),
    fields=(
        Items(
            "counts",
            _l("Germinated in each replicate"),
            item=Whole("count", _l("Germinated"), bounds=Bounds(0, 1_000_000)),
            least=2,
            most=100,
        ),
        Whole("seeds_per_replicate", _l("Seeds per replicate"), bounds=bounds.COUNT, default=100),
    ),
    results=(
        Result("mean_pct", _l("Germination"), "number", "%"),
        Result("range_pct", _l("Highest less lowest replicate"), "number", "%"),
        Result("tolerance_pct", _l("Tolerated range"), "number", "%"),
        Result("accepted", _l("Replicates agree"), "flag"),
        Result("low_pct", _l("95 % interval, low"), "number", "%"),
        Result("high_pct", _l("95 % interval, high"), "number", "%"),
    ),
    formula=_l(
        "Mean of the replicates; their range against the tolerated range of the printed table for that mean"
        " (four or two replicates of 100), otherwise of the model behind it. Interval after Wilson on all"
        " seeds together."
    ),
    source=_l(
        "US Federal Seed Act regulations, 7 CFR § 201.55(a), rows 99–71 %; rows below, and Wilson's"
        " formula, from memory."
    ),
    run=_run_germination,
    example={"counts": [78, 84, 81, 75], "seeds_per_replicate": 100},
)

MOISTURE = Calculator(
    name="moisture",
    title=_l("Moisture content"),
    question=_l("How moist is the seed?"),
    fields=(
        Number("empty_g", _l("Empty container"), unit="g", bounds=bounds.GRAMS),
        Number("fresh_g", _l("Container with fresh seed"), unit="g", bounds=bounds.GRAMS_ABOVE_0),
        Number("dry_g", _l("Container with dried seed"), unit="g", bounds=bounds.GRAMS),
    ),
    results=(Result("moisture_pct", _l("Moisture, % of fresh weight"), "number", "%"),),
    formula=_l("(Fresh − dry) ÷ (fresh − empty container) × 100."),
    source=_l("Center for Plant Conservation, academy."),
    run=_run_moisture,
    example={"empty_g": 12.41, "fresh_g": 17.46, "dry_g": 17.02},
)
