"""Calculators for stock: inventory from a sample, survival in the field."""

from __future__ import annotations

from typing import Any

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.intervals import wilson_interval
from nursery.planning.sampling import inventory
from nursery.services.calculators import bounds
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Items
from nursery.services.calculators.fields import Fraction, Whole
from nursery.services.limits import Bounds


def _run_inventory(
    *,
    sample_counts: list[int],
    sampled_fraction: float | None,
    frame_size: int | None,
    precision: float,
    confidence: float,
) -> dict[str, Any]:
    if (sampled_fraction is None) == (frame_size is None):
        raise Invalid({"frame_size": _("Give either the sampled fraction or the number of trays in all.")})
    trays = len(sample_counts)
    if frame_size is not None and frame_size < trays:
        raise Invalid(
            {
                "frame_size": _(
                    "%(frame)s trays in all are fewer than the %(trays)s sampled. Correct the number.",
                    frame=frame_size,
                    trays=trays,
                )
            }
        )
    frame = float(frame_size) if frame_size is not None else trays / (sampled_fraction or 1.0)
    found = inventory(sample_counts, frame, precision, confidence)
    return {
        "total": found.total,
        "low": found.low,
        "high": found.high,
        "samples_needed": found.samples_needed,
    }


def _run_survival(*, alive: int, planted: int, confidence: float) -> dict[str, Any]:
    if alive > planted:
        raise Invalid(
            {
                "alive": _(
                    "%(alive)s alive of %(planted)s planted is not possible. Do not count replacements.",
                    alive=alive,
                    planted=planted,
                )
            }
        )
    low, high = wilson_interval(alive, planted, confidence)
    return {"rate": alive / planted, "low": float(low), "high": float(high)}


_CONFIDENCE = Fraction("confidence", _l("Confidence"), bounds=bounds.CHANCE, default=0.95)

INVENTORY = Calculator(
    name="inventory",
    title=_l("Stock from a sample of trays"),
    question=_l("How many plants stand in the nursery, counted from a sample of trays?"),
    fields=(
        Items(
            "sample_counts",
            _l("Plants in each sampled tray"),
            item=Whole("count", _l("Plants"), bounds=Bounds(0, 1_000_000)),
            least=2,
            help=_l("Trays drawn at random, not chosen."),
        ),
        Fraction("sampled_fraction", _l("Sampled fraction"), bounds=bounds.POSITIVE, default=None),
        Whole(
            "frame_size",
            _l("Trays in all"),
            bounds=Bounds(2, 100_000_000),
            default=None,
            help=_l("Instead of the sampled fraction."),
        ),
        Fraction(
            "precision",
            _l("Precision wanted"),
            bounds=bounds.POSITIVE,
            default=0.1,
            help=_l("Half-width of the interval as a part of the total."),
        ),
        _CONFIDENCE,
    ),
    results=(
        Result("total", _l("Plants in all")),
        Result("low", _l("At least")),
        Result("high", _l("At most")),
        Result("samples_needed", _l("Trays to sample for that precision"), "whole"),
    ),
    formula=_l(
        "Trays in all × mean, ± Student's t × trays in all × √((1 − sampled fraction) × variance ÷ trays"
        " sampled). Trays to sample: n = (t × standard deviation ÷ (precision × mean))², corrected to n ÷ (1"
        " + n ÷ trays in all)."
    ),
    source=_l(
        "Simple random sampling with Cochran's sample size, as in filings of the Colorado Division of"
        " Reclamation, Mining & Safety; finite correction from memory."
    ),
    run=_run_inventory,
    example={"sample_counts": [47, 51, 44, 49, 52, 40, 48, 50], "frame_size": 160},
)

SURVIVAL = Calculator(
    name="survival",
    title=_l("Survival after planting"),
    question=_l("What part of the planted trees lives, and how sure is that?"),
    fields=(
        Whole("alive", _l("Alive"), bounds=bounds.PLANTS),
        Whole(
            "planted", _l("Planted"), bounds=Bounds(1, 100_000_000), help=_l("Originally, in the plots counted.")
        ),
        _CONFIDENCE,
    ),
    results=(
        Result("rate", _l("Survival"), "fraction"),
        Result("low", _l("Interval, low"), "fraction"),
        Result("high", _l("Interval, high"), "fraction"),
    ),
    formula=_l(
        "Alive ÷ planted, with the score interval of Wilson. Replacements are reported apart, never added."
    ),
    source=_l("Wilson's formula, from memory; checked against statsmodels."),
    run=_run_survival,
    example={"alive": 168, "planted": 220},
)
