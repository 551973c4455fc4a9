"""Calculator for assurance: how many to start."""

from __future__ import annotations

from typing import Any

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.assurance import MAX_START, smallest_start
from nursery.services.calculators import bounds
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Items, Record
from nursery.services.calculators.fields import Fraction, Number, Whole
from nursery.services.limits import Bounds


def _run_assurance(
    *, wanted: int, assurance: float, stages: list[dict[str, float]], seeds_per_cell: int
) -> dict[str, Any]:
    means, weights = ([stage[key] for stage in stages] for key in ("mean", "weight"))
    found = smallest_start(wanted, assurance, means, weights, seeds_per_cell=seeds_per_cell)
    if not found.reachable[0]:
        raise Invalid(
            {
                "assurance": _(
                    "No start up to %(most)s reaches this with these stages. Ask for a lower assurance, or"
                    " use a"
                    " stage with a higher mean or more weight.",
                    most=format_number(MAX_START),
                )
            }
        )
    return {
        "start": int(found.start[0]),
        "expected": float(found.expected[0]),
        "p10": int(found.p10[0]),
        "p90": int(found.p90[0]),
        "probability": float(found.probability[0]),
    }


ASSURANCE = Calculator(
    name="assurance",
    title=_l("How many to start, to be sure enough"),
    question=_l("How many must be started, to have enough with the chance asked for?"),
    fields=(
        Whole("wanted", _l("Ready plants wanted"), bounds=bounds.PLANTS),
        Fraction("assurance", _l("Assurance"), bounds=bounds.CHANCE, help=_l("The chance of having enough.")),
        Items(
            "stages",
            _l("Stages in order"),
            item=Record(
                "stage",
                _l("Stage"),
                fields=(
                    Fraction("mean", _l("Mean rate")),
                    Number(
                        "weight",
                        _l("Weight"),
                        bounds=Bounds(0.01, 1_000_000_000),
                        help=_l("The number of trials the rate is worth."),
                    ),
                ),
            ),
            most=12,
        ),
        Whole(
            "seeds_per_cell",
            _l("Seeds per cell"),
            bounds=bounds.SEEDS_PER_CELL,
            default=1,
            help=_l("With more than one, the first stage is germination and a start is a cell."),
        ),
    ),
    results=(
        Result("start", _l("Smallest start"), "whole"),
        Result("expected", _l("Expected ready plants"), "number"),
        Result("p10", _l("Nine times in ten at least"), "whole"),
        Result("p90", _l("Nine times in ten at most"), "whole"),
        Result("probability", _l("Chance of having enough"), "fraction"),
    ),
    formula=_l(
        "Each stage's rate is Beta(mean × weight, (1 − mean) × weight), independent of the others; with k"
        " seeds per cell the first counts as 1 − (1 − g) to the power of k. The ready plants are binomial"
        " with the product of the rates. The start is the smallest number whose chance of reaching the"
        " wanted plants is at least the assurance."
    ),
    source=_l("Beta-binomial distribution for one stage; numerical integration over the stages."),
    run=_run_assurance,
    example={
        "wanted": 800,
        "assurance": 0.9,
        "stages": [{"mean": 0.7, "weight": 40}, {"mean": 0.92, "weight": 60}, {"mean": 0.95, "weight": 100}],
        "seeds_per_cell": 2,
    },
)
