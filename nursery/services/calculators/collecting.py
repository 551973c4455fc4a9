"""Calculators for collecting: fruit and mothers to visit, and what the mothers are worth."""

from __future__ import annotations

from typing import Any

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.collecting import MAX_SHARE, collection
from nursery.planning.mothers import Kind, Sex, mother_balance
from nursery.services.calculators import bounds
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Items
from nursery.services.calculators.fields import Choice, Fraction, Number
from nursery.services.limits import Bounds


def _run_collection(**given: Any) -> dict[str, Any]:
    found = collection(**given)
    return {"clean_g": float(found.clean_g), "fruit_kg": float(found.fruit_kg), "mothers": int(found.mothers)}


def _run_mothers(*, weights: list[float], kind: Kind, sexes: list[Sex] | None) -> dict[str, Any]:
    if not any(weights):
        raise Invalid({"weights": _("All weights are 0. Give at least one mother a weight above 0.")})
    if sexes is not None and len(sexes) != len(weights):
        raise Invalid(
            {
                "sexes": _(
                    "%(sexes)s sexes do not fit %(weights)s weights. Give one for each mother, or none at all.",
                    sexes=len(sexes),
                    weights=len(weights),
                )
            }
        )
    found = mother_balance(weights, kind, None if sexes is None else [str(sex) for sex in sexes])
    names = ("effective_mothers", "largest_share", "status_number_low", "status_number_high")
    return {name: float(getattr(found, name)) for name in names}


COLLECTION = Calculator(
    name="collection",
    title=_l("Fruit and mother plants for a quantity of seed"),
    question=_l("How much fruit, from how many plants, gives so many seeds?"),
    fields=(
        Number("seeds", _l("Pure seeds needed"), bounds=Bounds(0, 10_000_000_000)),
        Number("tsw_g", _l("Thousand-seed weight"), unit="g", bounds=bounds.TSW_G),
        Fraction("purity", _l("Purity after cleaning"), bounds=bounds.POSITIVE),
        Fraction(
            "extraction_yield",
            _l("Extraction yield"),
            bounds=Bounds(0.00001, 1),
            help=_l("Clean seed per weight of fruit as collected."),
        ),
        Number(
            "fruit_kg_per_mother",
            _l("Whole crop of a mother plant"),
            unit="kg",
            bounds=Bounds(0.000001, 100_000),
        ),
        Fraction(
            "max_share",
            _l("Largest share taken of a crop"),
            bounds=bounds.POSITIVE,
            default=MAX_SHARE,
            help=_l("Leave enough where it grew; the permit may ask for less."),
        ),
    ),
    results=(
        Result("clean_g", _l("Clean seed"), "number", "g"),
        Result("fruit_kg", _l("Fruit"), "number", "kg"),
        Result("mothers", _l("Mother plants"), "whole"),
    ),
    formula=_l(
        "Seeds × thousand-seed weight ÷ 1000 ÷ purity = clean seed; ÷ extraction yield ÷ 1000 = kg of"
        " fruit; ÷ (crop of a mother × largest share) = mother plants, rounded up."
    ),
    source=_l(
        "The chain of Robbins in Willan 1985, FAO Forestry Paper 20/2; a fifth of the crop at most: US Seeds of"
        " Success technical protocol §9."
    ),
    run=_run_collection,
    example={
        "seeds": 6000,
        "tsw_g": 24,
        "purity": 0.95,
        "extraction_yield": 0.12,
        "fruit_kg_per_mother": 4.5,
    },
)

MOTHERS = Calculator(
    name="mothers",
    title=_l("How many mothers a lot is worth"),
    question=_l("To how many equal mothers does a lot of unequal shares come?"),
    fields=(
        Items(
            "weights",
            _l("Share of each mother"),
            item=Number("weight", _l("Weight")),
            help=_l("In any unit: grams in her bag, cuttings, plants."),
        ),
        Choice(
            "kind",
            _l("Seed or clones"),
            choices=Kind,
            labels={Kind.SEED: _l("Seed"), Kind.CLONE: _l("Clones, such as cuttings")},
        ),
        Items(
            "sexes",
            _l("Sex of each mother"),
            item=Choice(
                "sex",
                _l("Sex"),
                choices=Sex,
                labels={Sex.MALE: _l("male"), Sex.FEMALE: _l("female")},
                also={"m": Sex.MALE, "f": Sex.FEMALE},
            ),
            default=None,
            help=_l("m or f, for species with male and female plants, such as willows and poplars."),
        ),
    ),
    results=(
        Result("effective_mothers", _l("Effective mothers")),
        Result("largest_share", _l("Largest share"), "fraction"),
        Result("status_number_low", _l("Status number, at least")),
        Result("status_number_high", _l("Status number, at most")),
    ),
    formula=_l(
        "1 ÷ the sum of squared shares = effective mothers. Seedlings lie between that (pollen from the"
        " same mothers) and four times that (pollen from ever so many others); clones are worth just that."
        " With sexes, neither is more than 4 × males × females ÷ (males + females)."
    ),
    source=_l(
        "Group coancestry of unrelated, non-inbred parents; status number after Lindgren et al. 1996, from memory."
    ),
    run=_run_mothers,
    example={"weights": [120, 85, 60, 240, 95], "kind": "seed"},
)
