"""What readings come to, and whether they may be believed; each refusal comes with its remedy.

Readings by kind of test, as they are kept:

- germination, cut, tetrazolium: ``counts`` (whole, one a replicate) of ``seeds`` (laid out in each)
- purity: ``pure_g, other_g, inert_g``, and ``sample_g`` where the sample was weighed before it was parted
- weight: ``weights_g`` (eight or sixteen replicates) of ``seeds`` each, ``chaffy``
- moisture: ``samples`` of ``[empty_g, fresh_g, dry_g]``
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models.seed_tests import TestKind
from nursery.planning.intervals import wilson_interval
from nursery.planning.seedtests import (
    CV_LIMIT,
    CV_LIMIT_CHAFFY,
    germination_test,
    moisture_content,
    moisture_tolerance,
    seed_weight,
    within_two_sd,
)

#: Share of the sample's weight that may be gained or lost while it is parted; from memory (seed testing rules).
PARTING_LOSS = 0.05
#: Replicates weighed at first, and in all after the first were refused; from memory (seed testing rules).
WEIGHED, WEIGHED_AGAIN = 8, 16


@dataclass(frozen=True, slots=True)
class Judgement:
    """``result`` in the unit of the kind; ``verdict`` holds what was found and what is allowed."""

    result: float
    low: float | None
    high: float | None
    is_accepted: bool
    verdict: dict[str, Any]


def judge(kind: TestKind, readings: Mapping[str, Any], *, tsw_g: float) -> Judgement:
    """Judge the readings of one test; ``tsw_g`` tells large seed from small.

    Raises
    ------
    Invalid
        For readings that cannot be, by the name of the reading.
    """
    return _JUDGES[kind](readings, tsw_g)


def _counted(readings: Mapping[str, Any], _tsw: float) -> Judgement:
    """Germination: replicates are always compared."""
    counts, seeds = _counts(readings)
    if len(counts) < 2:
        text = _("Count two replicates or more, so that they can be compared; four of 100 seeds are usual.")
        raise Invalid({"counts": text})
    found = germination_test(counts, seeds)
    return Judgement(
        result=found.mean_pct / 100,
        low=found.low_pct / 100,
        high=found.high_pct / 100,
        is_accepted=found.accepted,
        verdict={"rule": "range", "found": found.range_pct, "allowed": found.tolerance_pct},
    )


def _viable(readings: Mapping[str, Any], tsw: float) -> Judgement:
    """Cut and tetrazolium tests: of small lots often one sample is all that can be spared."""
    counts, seeds = _counts(readings)
    if len(counts) > 1:
        return _counted(readings, tsw)
    low, high = wilson_interval(counts[0], seeds)
    return Judgement(counts[0] / seeds, float(low), float(high), is_accepted=True, verdict={"rule": "single"})


def _counts(readings: Mapping[str, Any]) -> tuple[list[int], int]:
    counts, seeds = list(readings["counts"]), int(readings["seeds"])
    if not counts:
        raise Invalid({"counts": _("Give the count of each replicate.")})
    if seeds < 1:
        raise Invalid({"seeds": _("A replicate has one seed or more.")})
    if any(count < 0 or count > seeds for count in counts):
        text = _(
            "No replicate has more than its %(seeds)s seeds. Correct the count or the seeds.",
            seeds=format_number(seeds),
        )
        raise Invalid({"counts": text})
    return counts, seeds


def _purity(readings: Mapping[str, Any], _tsw: float) -> Judgement:
    pure, other, inert = (float(readings[name]) for name in ("pure_g", "other_g", "inert_g"))
    whole, sample = pure + other + inert, readings.get("sample_g")
    if pure <= 0 or min(other, inert) < 0:
        raise Invalid({"pure_g": _("There must be pure seed, and no part can weigh less than nothing.")})
    if sample is None:
        return Judgement(pure / whole, None, None, is_accepted=True, verdict={"rule": "unweighed"})
    loss = abs(whole - sample) / sample
    return Judgement(
        pure / whole, None, None, loss <= PARTING_LOSS + 1e-9,
        {"rule": "parting", "found": loss, "allowed": PARTING_LOSS},
    )  # fmt: skip


def _weight(readings: Mapping[str, Any], _tsw: float) -> Judgement:
    weights, seeds, chaffy = list(readings["weights_g"]), int(readings["seeds"]), bool(readings.get("chaffy"))
    if any(weight <= 0 for weight in weights):
        raise Invalid({"weights_g": _("Each replicate weighs more than nothing.")})
    if len(weights) not in (WEIGHED, WEIGHED_AGAIN):
        text = _("%(num)s weights were given. Weigh eight replicates, or sixteen where eight were refused.")
        raise Invalid({"weights_g": text % {"num": len(weights)}})
    if len(weights) == WEIGHED:
        found = seed_weight(weights, seeds, chaffy)
        limit = CV_LIMIT_CHAFFY if chaffy else CV_LIMIT
        spread = 2 * float(found.sd_g) / np.sqrt(len(weights)) * 1000 / seeds
        return Judgement(
            float(found.tsw_g), float(found.tsw_g) - spread, float(found.tsw_g) + spread, bool(found.accepted),
            {"rule": "variation", "found": float(found.cv_pct), "allowed": limit},
        )  # fmt: skip
    kept = np.asarray(weights)[within_two_sd(weights)]
    mean = seed_weight(kept, seeds, chaffy)
    spread = 2 * float(mean.sd_g) / np.sqrt(len(kept)) * 1000 / seeds
    tsw, dropped = float(mean.tsw_g), len(weights) - len(kept)
    return Judgement(
        tsw, tsw - spread, tsw + spread, is_accepted=True, verdict={"rule": "sixteen", "found": dropped}
    )


def _moisture(readings: Mapping[str, Any], tsw: float) -> Judgement:
    samples = [tuple(float(weight) for weight in sample) for sample in readings["samples"]]
    found = []
    for number, (empty, fresh, dry) in enumerate(samples, start=1):
        if not empty < fresh or not empty <= dry <= fresh:
            text = _(
                "Sample %(number)s: the container with dry seed weighs at least as much as the empty one and"
                " at most as much as with fresh seed.",
                number=number,
            )
            raise Invalid({f"dry_{number}": text})
        found.append(float(moisture_content(empty, fresh, dry)))
    mean = sum(found) / len(found)
    if not 0 < mean < 100:
        raise Invalid({"dry_1": _("Seed is never without water, nor all water. Correct the weights.")})
    if len(found) == 1:
        return Judgement(mean, None, None, is_accepted=True, verdict={"rule": "single"})
    difference, allowed = max(found) - min(found), moisture_tolerance(mean, tsw)
    return Judgement(
        mean, min(found), max(found), difference <= allowed + 1e-9,
        {"rule": "oven", "found": difference, "allowed": allowed},
    )  # fmt: skip


_JUDGES: dict[TestKind, Callable[[Mapping[str, Any], float], Judgement]] = {
    TestKind.GERMINATION: _counted,
    TestKind.CUT: _viable,
    TestKind.TETRAZOLIUM: _viable,
    TestKind.PURITY: _purity,
    TestKind.WEIGHT: _weight,
    TestKind.MOISTURE: _moisture,
}
