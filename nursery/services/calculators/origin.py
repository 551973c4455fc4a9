"""Calculator for the rules of origin: one lot at one site."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.places import IndigenousStatus
from nursery.planning.mixing import Category
from nursery.planning.origin.defaults import DEFAULT_RULES
from nursery.planning.origin.words import Rule, StrategyKind
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Record
from nursery.services.calculators.fields import Choice, Field, Flag, Fraction, Number, Refused, Text, shown
from nursery.services.limits import (
    ELEVATION_M,
    LATITUDE,
    LONGITUDE,
    MOTHER_PLANTS,
    POSITIVE_FRACTION,
    Bounds,
    refuse_coordinates,
)
from nursery.services.origin.checks import refuse_rules
from nursery.services.origin.words import CATEGORY_LABELS, KIND_LABELS, RULE_LABELS, VERDICT_LABELS
from nursery.services.populations import STATUS_LABELS

_CELSIUS = Bounds(-80, 60)
#: What people read for facts that are told in codes.
_FACTS: Mapping[Any, LazyProxy] = {
    "held": _l("on hold"),
    "free": _l("not on hold"),
    "same species": _l("same species"),
    "other species": _l("another species"),
    "native": _l("native"),
    **STATUS_LABELS,
    **CATEGORY_LABELS,
}


@dataclass(frozen=True)
class Rules(Field):
    """Rules that differ from the usual ones: an object, or the same as JSON text; null leaves a rule out."""

    kind = "rules"

    def read(self, value: Any) -> dict[str, Any]:
        """Only what differs; what the rules are with it must not contradict itself."""
        if isinstance(value, str):
            try:
                value = json.loads(value)
            except ValueError as wrong:
                raise Refused(_("This is no JSON: %(why)s. Check brackets and quotes.", why=str(wrong))) from None
        if not isinstance(value, Mapping):
            raise Refused(
                _(
                    "%(value)s is not an object. Give one with: %(names)s.",
                    value=shown(value),
                    names=", ".join(Rule),
                )
            )
        refused = refuse_rules(changed_rules(value))
        if refused:
            raise Refused("; ".join(f"{name}: {message}" for name, message in refused.items()))
        return dict(value)

    def limits(self) -> dict[str, Any]:
        """The usual rules."""
        return {"usual": {name: dict(terms) for name, terms in DEFAULT_RULES.items()}}


def changed_rules(changes: Mapping[str, Any]) -> dict[str, Any]:
    """The usual rules with these changes; a rule set to None is left out."""
    found: dict[str, Any] = {name: dict(terms) for name, terms in DEFAULT_RULES.items()}
    for name, terms in changes.items():
        if terms is None and name in found:
            del found[name]
        elif isinstance(terms, Mapping):
            found[name] = {**found.get(name, {}), **terms}
        else:
            found[name] = terms
    return found


def _climate(prefix: str = "") -> tuple[Field, ...]:
    labels = {
        "mean_annual_c": (_l("Mean annual temperature"), _l("Mean annual temperature expected")),
        "annual_rain_mm": (_l("Annual rain"), _l("Annual rain expected")),
        "coldest_month_min_c": (_l("Minimum of the coldest month"), _l("Minimum of the coldest month expected")),
    }
    return tuple(
        Number(
            f"{prefix}{name}", both[bool(prefix)], default=None, unit="mm" if name.endswith("mm") else "°C",
            bounds=Bounds(0, 20_000) if name.endswith("mm") else _CELSIUS,
        )
        for name, both in labels.items()
    )  # fmt: skip


def _place() -> tuple[Field, ...]:
    return (
        Text("species", _l("Species"), default=None, help=_l("Compared as it is written.")),
        Number("latitude", _l("Latitude"), default=None, unit="°", bounds=LATITUDE),
        Number("longitude", _l("Longitude"), default=None, unit="°", bounds=LONGITUDE),
        Number("elevation_m", _l("Elevation"), default=None, unit="m", bounds=ELEVATION_M),
        Text("region_code", _l("Region of provenance"), default=None),
        Text("basin", _l("River basin"), default=None),
    )


def _run_origin(*, lot: dict[str, Any], site: dict[str, Any], rules: dict[str, Any] | None) -> dict[str, Any]:
    import numpy as np  # noqa: PLC0415 -- slow import
    import pandas as pd  # noqa: PLC0415 -- slow import

    from nursery.planning.origin.rule_table import RuleTable  # noqa: PLC0415 -- slow import
    from nursery.planning.origin.rules import judge  # noqa: PLC0415 -- slow import
    from nursery.planning.origin.strategies import PRESETS, Strategies  # noqa: PLC0415 -- slow import

    _refuse_places(lot=lot, site=site)
    names = [(place["species"] or "").casefold() for place in (lot, site)]
    # 1 is what the site asks for; without a name on either side nothing is compared.
    own = 1.0 if names[0] == names[1] else (2.0 if all(names) else np.nan)
    first = np.zeros(1, np.int64)
    judgement = judge(
        pd.DataFrame([{**lot, "species_id": own}]),
        pd.DataFrame([{**site, "rule_row": 0}]),
        first, first, RuleTable.of([changed_rules(rules or {})]),
        accepts=Strategies.of([PRESETS[site["strategy"]] if site["strategy"] else None]),
        wanted=np.ones(1, np.int64) if any(names) else None,
    )  # fmt: skip
    columns = ("rule", "verdict", "found", "limit", "basis")
    return {
        "verdict": judgement.verdict_of(0).value,
        "reasons": [{name: one[name] for name in columns} for one in judgement.reasons(0, passes=True)],
    }


def _refuse_places(**places: dict[str, Any]) -> None:
    refused = {}
    for name, place in places.items():
        point = [place["latitude"], place["longitude"]]
        if (point[0] is None) != (point[1] is None):
            refused[name] = _("Give both latitude and longitude, or neither.")
        elif point[0] is not None and (told := refuse_coordinates(point[0], point[1])):
            refused[name] = " ".join(told.values())
    if refused:
        raise Invalid(refused)


ORIGIN = Calculator(
    name="origin",
    title=_l("May this lot go to this site?"),
    question=_l("Do the rules of origin let a lot be planted at a site, and why?"),
    fields=(
        Record(
            "lot",
            _l("The lot"),
            fields=(
                *_place(),
                Choice(
                    "status", _l("Indigenous status"), choices=IndigenousStatus, labels=STATUS_LABELS,
                    default=None,
                ),
                Choice("category", _l("Category"), choices=Category, labels=CATEGORY_LABELS, default=None),
                Flag("is_held", _l("On hold for want of a permit"), default=False),
                Number("effective_mothers", _l("Effective mothers"), default=None, bounds=MOTHER_PLANTS),
                Number(
                    "most_mothers", _l("Plants sampled"), default=None, bounds=MOTHER_PLANTS,
                    help=_l("Where bags were pooled, the most effective mothers there can be."),
                ),
                Fraction(
                    "largest_family", _l("Share of the largest family"), default=None, bounds=POSITIVE_FRACTION
                ),
                *_climate(),
            ),
        ),
        Record(
            "site",
            _l("The site"),
            fields=(
                *_place(),
                Flag("native_only", _l("Takes native material only"), default=False),
                Choice(
                    "least_category", _l("Lowest category taken"), choices=Category, labels=CATEGORY_LABELS,
                    default=None,
                ),
                Choice(
                    "strategy", _l("Strategy"), choices=StrategyKind, labels=KIND_LABELS, default=None,
                    help=_l("With its usual shares."),
                ),
                *_climate(),
                *_climate("expected_"),
            ),
        ),
        Rules(
            "rules",
            _l("Rules that differ from the usual ones"),
            default=None,
            help=_l("As JSON, such as {\"elevation\": {\"stop\": 250}}; null leaves a rule out."),
        ),
    ),
    results=(
        Result("verdict", _l("Verdict"), "text", labels=VERDICT_LABELS),
        Result(
            "reasons",
            _l("Reasons"),
            "list",
            columns=(
                Result("rule", _l("Rule"), "text", labels=RULE_LABELS),
                Result("verdict", _l("Verdict"), "text", labels=VERDICT_LABELS),
                Result("found", _l("Found"), "text", labels={None: _l("not known"), **_FACTS}),
                Result("limit", _l("Limit"), "text", labels={None: _l("none"), **_FACTS}),
                Result("basis", _l("Basis"), "text"),
            ),
        ),
    ),
    formula=_l(
        "Each rule compares the lot with the site and gives pass, caution or stop; the verdict is the worst of"
        " them. A value on a limit is within it. A site without a region of provenance is judged by its"
        " river basin."
    ),
    source=_l("The basis stands beside each rule; most limits are planning defaults and not law."),
    run=_run_origin,
    example={
        "lot": {
            "species": "Fraxinus angustifolia", "latitude": 39.548, "longitude": -5.573, "elevation_m": 520,
            "region_code": "GV-M", "basin": "Guadorva", "status": "autochthonous", "effective_mothers": 34,
            "largest_family": 0.05,
        },
        "site": {
            "species": "Fraxinus angustifolia", "latitude": 39.541, "longitude": -5.561, "elevation_m": 340,
            "region_code": "GV-M", "basin": "Guadorva", "native_only": True,
        },
    },
)  # fmt: skip
