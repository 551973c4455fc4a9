"""What is wrong with rules as they are written down: contradictory limits, by rule and field."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.planning.origin.rule_table import LOW_IS_BAD, NUMERIC
from nursery.planning.origin.words import Rule, Verdict
from nursery.services.origin.words import RULE_LABELS

#: A limit beyond this is a slip of the keyboard.
_MOST = {"m": 9450.0, "km": 20_040.0, "K": 60.0, "fraction": 10.0, "count": 1_000_000.0}
_SIDES = ("caution", "stop")


def refuse_rules(rules: Any) -> dict[str, str]:
    """Messages by ``rule.field``; empty where the rules are sound."""
    if not isinstance(rules, Mapping):
        return {"rules": _("Rules are an object with one entry for each rule.")}
    found: dict[str, str] = {}
    for name, terms in rules.items():
        if name not in set(Rule):
            names = ", ".join(rule.value for rule in Rule)
            found[str(name)] = _("There is no rule “%(name)s”. Rules are: %(names)s.", name=name, names=names)
        elif not isinstance(terms, Mapping):
            found[name] = _("“%(rule)s” is an object with its limits.", rule=str(RULE_LABELS[Rule(name)]))
        else:
            told = _refuse_rule(Rule(name), terms)
            found |= {f"{name}.{field}": message for field, message in told.items()}
    return found


def _refuse_rule(rule: Rule, terms: Mapping[str, Any]) -> dict[str, str]:
    label = str(RULE_LABELS[rule])
    numeric = rule in NUMERIC
    fields = {*(_SIDES if numeric else ("differs",)), "unknown", "basis", "text"}
    found = {
        str(field): _(
            "%(rule)s has no “%(field)s”. It has: %(fields)s.",
            rule=label, field=field, fields=", ".join(sorted(fields)),
        )
        for field in terms
        if field not in fields
    }  # fmt: skip
    for field in ("unknown",) if numeric else ("differs", "unknown"):
        if terms.get(field) not in set(Verdict):
            found[field] = _(
                "%(rule)s: “%(value)s” is no verdict. Write pass, caution or stop.",
                rule=label, value=terms.get(field, ""),
            )  # fmt: skip
    if not str(terms.get("basis") or "").strip():
        found["basis"] = _(
            "%(rule)s has no basis. Write where its limits come from: a law, a study, or a decision of your own.",
            rule=label,
        )
    if numeric:
        found |= _refuse_limits(rule, terms)
    return found


def _refuse_limits(rule: Rule, terms: Mapping[str, Any]) -> dict[str, str]:
    label, most = str(RULE_LABELS[rule]), _MOST[NUMERIC[rule]]
    if rule is Rule.FAMILY:
        most = 1.0
    found = {}
    for side in _SIDES:
        value = terms.get(side)
        if value is None:
            continue
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            found[side] = _(
                "%(rule)s: “%(value)s” is no number. Write one, or leave it empty.", rule=label, value=value
            )
        elif value < 0:
            found[side] = _(
                "%(rule)s: %(value)s is below zero. Write 0 or more, or leave it empty for no limit.",
                rule=label, value=format_number(value, 3),
            )  # fmt: skip
        elif value > most:
            found[side] = _(
                "%(rule)s: %(value)s is more than anything can differ by. Write at most %(most)s.",
                rule=label, value=format_number(value, 3), most=format_number(most, 3),
            )  # fmt: skip
    caution, stop = terms.get("caution"), terms.get("stop")
    if found or caution is None or stop is None:
        return found
    values = {"rule": label, "caution": format_number(caution, 3), "stop": format_number(stop, 3)}
    if rule in LOW_IS_BAD and caution < stop:
        found["caution"] = _(
            "%(rule)s: caution below %(caution)s lies under stop below %(stop)s, so that caution could never be"
            " given. Write at least %(stop)s for caution, or lower the stop.",
            **values,
        )
    if rule not in LOW_IS_BAD and caution > stop:
        found["caution"] = _(
            "%(rule)s: caution above %(caution)s lies beyond stop above %(stop)s, so that caution could never be"
            " given. Write at most %(stop)s for caution, or raise the stop.",
            **values,
        )
    return found
