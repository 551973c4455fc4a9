"""The shape of a species file: which keys it may have, and what each figure may be.

The reader, the overrides and the check all use these rules, so a figure refused in one place is refused in all.
"""

from __future__ import annotations

from dataclasses import dataclass

from nursery.catalog import vocabulary
from nursery.i18n import format_number
from nursery.i18n import gettext as _


@dataclass(frozen=True, slots=True)
class Rule:
    """What a figure may be: its kind, unit and bounds (both included)."""

    kind: str
    unit: str = ""
    low: float = 0.0
    high: float = 1.0
    choices: tuple[str, ...] = ()
    required: bool = False


RULES: dict[str, Rule] = {
    "dioecious": Rule("yes-no", required=True),
    "spiny": Rule("yes-no", required=True),
    "toxic": Rule("yes-no", required=True),
    "seed.thousand_seed_weight_g": Rule("number", "g", 0.001, 100_000, required=True),
    "seed.purity": Rule("number", "", 0.01, 1, required=True),
    "seed.extraction_yield": Rule("number", "g/g", 0.0001, 1, required=True),
    "seed.fruit_kg_per_mother": Rule("number", "kg", 0.0001, 2_000, required=True),
    "storage.class": Rule("choice", choices=vocabulary.STORAGE_CLASSES, required=True),
    "storage.seed_life_days": Rule("number", "d", 1, 36_500, required=True),
    "storage.cuttings_life_days": Rule("number", "d", 1, 365),
    "storage.ke": Rule("number", "", 0, 20),
    "storage.cw": Rule("number", "", 0, 20),
    "storage.ch": Rule("number", "", 0, 1),
    "storage.cq": Rule("number", "", 0, 0.01),
    "collecting.seed_months": Rule("months", required=True),
    "collecting.cuttings_months": Rule("months"),
    "collecting.cuttings_per_mother": Rule("number", "", 1, 10_000),
    "protocols.*.container_volume_cm3": Rule("number", "cm³", 5, 50_000, required=True),
    "protocols.*.seeds_per_cell": Rule("whole", "", 1, 50),
    "protocols.*.sowing_months": Rule("months", required=True),
    "protocols.*.phases.*.days": Rule("number", "d", 0.01, 1_500),
    "protocols.*.phases.*.degree_days": Rule("number", "°C·d", 1, 20_000),
    "protocols.*.phases.*.base_c": Rule("number", "°C", -5, 25),
    "protocols.*.phases.*.temperature_c": Rule("number", "°C", -10, 130),
    # A stage that nothing lives through would ask for endless seed; a loss may be nil, never total.
    "protocols.*.rates.*.mean": Rule("number", "", 0.001, 1),
    "protocols.*.rates.cull.mean": Rule("number", "", 0, 0.99),
    "protocols.*.rates.handling_loss.mean": Rule("number", "", 0, 0.99),
    "protocols.*.rates.*.weight": Rule("number", "", 0.5, 100_000),
}


def rule_of(path: str) -> Rule | None:
    """The rule of a dotted path, whatever its protocol, phase or rate; None for a path that cannot exist."""
    steps = path.split(".")
    if steps[0] == "protocols" and len(steps) >= 3:
        steps[1] = "*"
        if len(steps) == 5 and ".".join(steps) not in RULES:
            steps[3] = "*"
    return RULES.get(".".join(steps))


def fault(rule: Rule, value: object) -> str | None:
    """What is wrong with a value, as a sentence that says what is wanted; None if it is fine."""
    if rule.kind == "months":
        return _months_fault(value)
    if rule.kind == "yes-no":
        return None if isinstance(value, bool) else _("Write true or false.")
    if rule.kind == "choice":
        return None if value in rule.choices else _("Write one of %(choices)s.", choices=", ".join(rule.choices))
    return _number_fault(rule, value)


def _number_fault(rule: Rule, value: object) -> str | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return _("Write a number.")
    if not rule.low <= value <= rule.high:  # also false for “not a number”
        low, high = format_number(rule.low, 4), format_number(rule.high, 4)
        return _("Write a number from %(low)s to %(high)s.", low=low, high=high)
    if rule.kind == "whole" and value != int(value):
        return _("Write a whole number.")
    return None


def _months_fault(value: object) -> str | None:
    wanted = _("Write a list of month numbers from 1 to 12, each once.")
    if not isinstance(value, list | tuple) or not value:
        return wanted
    good = all(isinstance(m, int) and not isinstance(m, bool) and 1 <= m <= 12 for m in value)
    return None if good and len(set(value)) == len(value) else wanted
