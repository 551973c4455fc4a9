"""The mix of lots of a line beside what the site's strategy asks of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nursery.i18n import format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models import PlanLine
from nursery.planning.origin.strategies import CROSSING
from nursery.planning.origin.words import Source, StrategyKind
from nursery.planning.plan_origin import ROUNDING
from nursery.services.origin.words import KIND_LABELS, SOURCE_LABELS


@dataclass(frozen=True, slots=True)
class Share:
    """What one kind of source gives, and what is asked of it; ``asked`` is None where no shares are asked for."""

    label: str
    given: float
    asked: float | None
    #: Whether it is as asked, within tolerance.
    holds: bool


@dataclass(frozen=True)
class MixView:
    """A mix, ready to be shown; facts as label, what is found, and what is asked (empty for nothing)."""

    strategy: str
    tolerance: float | None
    shares: Sequence[Share]
    facts: Sequence[tuple[str, str, str]]
    #: Whether lots of several regions or basins come together, or may.
    crosses: bool


def read_mix(line: PlanLine) -> MixView | None:
    """The mix kept with a line; None where nothing is drawn."""
    mix = line.mix
    if mix is None:
        return None
    terms: Mapping[str, Any] = mix.get("asked") or {}
    asked: Mapping[str, float] = terms.get("shares") or {}
    tolerance = terms.get("tolerance") if asked else None
    kind = StrategyKind(terms["kind"]) if terms else None
    return MixView(
        strategy=str(KIND_LABELS[kind]) if kind else _("none: its own region"),
        tolerance=tolerance,
        shares=[
            _share(source, mix[source.value], asked, tolerance or 0.0)
            for source in Source
            if mix[source.value] > 0 or source.value in asked
        ],
        facts=_facts(mix, terms),
        crosses=kind in CROSSING and mix["local"] < 1 - 1e-9,
    )


def _share(source: Source, given: float, asked: Mapping[str, float], tolerance: float) -> Share:
    wanted = asked.get(source.value, 0.0) if asked else None
    holds = wanted is None or abs(given - wanted) <= tolerance + ROUNDING
    return Share(str(SOURCE_LABELS[source]), given, wanted, holds)


def _facts(mix: Mapping[str, Any], terms: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    least, cap = terms.get("least_populations"), terms.get("population_cap")
    family_cap, mothers = terms.get("family_cap"), terms.get("least_mothers")
    found = _number(mix["effective_mothers"])
    if mix["effective_mothers"] is not None and not mix["mothers_known"]:
        # A pooled lot tells only how many plants were sampled.
        found = _("at most %(number)s", number=found)
    return [
        (
            _("Populations"),
            format_number(mix["populations"]),
            _("at least %(number)s", number=format_number(least)) if least and least > 1 else "",
        ),
        (
            _("Largest population"),
            format_percent(mix["largest_population"]),
            _("at most %(share)s", share=format_percent(cap)) if cap else "",
        ),
        (
            _("Effective mothers of the mix"),
            found,
            _("at least %(number)s", number=format_number(mothers)) if mothers else "",
        ),
        (
            _("Largest family"),
            _("not known") if mix["largest_family"] is None else format_percent(mix["largest_family"], 1),
            _("at most %(share)s", share=format_percent(family_cap)) if family_cap else "",
        ),
    ]


def _number(value: float | None) -> str:
    return _("not known") if value is None else format_number(value, 1)
