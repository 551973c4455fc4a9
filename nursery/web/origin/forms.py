"""The forms of decisions, strategies and rules."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from wtforms import Field

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import RuleSet
from nursery.models.decisions import DecisionKind
from nursery.planning.origin.rule_table import LOW_IS_BAD, NUMERIC
from nursery.planning.origin.words import Rule, Source, StrategyKind, Verdict
from nursery.services import limits
from nursery.services.origin.strategies import MOTHERS, POPULATIONS
from nursery.services.origin.words import KIND_LABELS, RULE_LABELS, VERDICT_LABELS, tell_shares
from nursery.web.fields import (
    ChoiceField,
    DayField,
    FractionField,
    ListInput,
    NumberField,
    TextField,
    WholeNumberField,
)
from nursery.web.forms import RefusableForm
from nursery.web.record_fields import RecordSelect

ACTS = {
    DecisionKind.OVERRIDE: _l("Allow it here despite the stop"),
    DecisionKind.FORBID: _l("Never plant it here"),
    DecisionKind.PIN: _l("Pin it to a target of this site"),
}


class TargetField(Field):
    """One of the open targets of a site, or none."""

    widget = ListInput()

    def __init__(self, label: Any = None, **options: Any) -> None:
        self.data: int | None = None
        self.offered: Sequence[tuple[str, str]] = ()
        super().__init__(label, **options)

    def options(self) -> Sequence[tuple[str, str]]:
        """Nothing, then the targets."""
        return [("", "–"), *self.offered]

    def chosen(self) -> str:
        """The target now chosen."""
        return "" if self.data is None else str(self.data)

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The target's id."""
        text = valuelist[0] if valuelist else ""
        self.data = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


class DecisionForm(RefusableForm):
    """What a person decides about a lot at a site."""

    kind = ChoiceField(_l("Decision"), kind=DecisionKind, labels=ACTS)
    target_id = TargetField(_l("Target, for a pin"))
    plants = WholeNumberField(
        _l("Plants, for a pin"), bounds=limits.PLANTS, description=_l("Left empty: as many as the lot can give.")
    )
    reason = TextField(_l("Reason"), most=500, needed=True, description=_l("Every plan and report shows it."))


class WithdrawalForm(RefusableForm):
    """Taking a decision back."""

    reason = TextField(_l("Reason"), most=500, needed=True)


class StrategyForm(RefusableForm):
    """What a site follows, and how it mixes its sources."""

    rule_set_id = RecordSelect(
        _l("Rules"), model=RuleSet, description=_l("Left empty, the site follows the general rules.")
    )
    kind = ChoiceField(_l("Strategy"), kind=StrategyKind, labels=KIND_LABELS, default=StrategyKind.REGION)
    local = FractionField(_l("Local"), description=_l("The site's own region and basin."))
    near = FractionField(_l("Near"), description=_l("Its region or its basin, not both."))
    far = FractionField(_l("Far"), description=_l("Neither of the two."))
    climate = FractionField(
        _l("For the climate to come"), description=_l("Not local, like what is expected here.")
    )
    tolerance = FractionField(_l("Tolerance"), description=_l("By how much a share may miss. Usual: 5 %."))
    least_populations = WholeNumberField(
        _l("Populations, at least"), bounds=POPULATIONS, description=_l("Of each species. Usual: 1.")
    )
    population_cap = FractionField(
        _l("One population, at most"), description=_l("Share of the plants of a species. Empty: no cap.")
    )
    family_cap = FractionField(
        _l("One mother's family, at most"), description=_l("Share of the plants of a species. Empty: no cap.")
    )
    least_mothers = NumberField(
        _l("Effective mothers, at least"), bounds=MOTHERS, description=_l("Of the whole mix of a species.")
    )

    def values(self) -> dict[str, Any]:
        """Columns of the strategy."""
        return {
            "kind": self.kind.data,
            "shares": {source.value: share for source in Source if (share := self[source.value].data)},
            **{name: self[name].data for name in ("population_cap", "family_cap", "least_mothers")},
            "tolerance": 0.05 if self.tolerance.data is None else self.tolerance.data,
            "least_populations": self.least_populations.data or 1,
        }

    def labels(self) -> dict[str, str]:
        """Labels by column, for the history."""
        return {name: field.label.text for name, field in self._fields.items()} | {"shares": _("Shares")}

    def show(self, column: str, value: Any) -> str:
        """A column's value as the history tells it."""
        if column == "shares":
            return tell_shares(value) or "–"
        field = self._fields.get(column)
        return str(field.show(value)) if field is not None and hasattr(field, "show") else str(value)

    def refuse(self, errors: Mapping[str, str]) -> None:
        """Shares are fields of their own here."""
        super().refuse({name.removeprefix("shares."): message for name, message in errors.items()})


def _rule_fields() -> dict[str, Any]:
    """Fields of each rule, named ``rule-field``."""
    found: dict[str, Any] = {}
    for rule in Rule:
        if rule in NUMERIC:
            fraction = NUMERIC[rule] == "fraction"
            low = rule in LOW_IS_BAD
            for side, label in (
                ("caution", _l("Caution below") if low else _l("Caution beyond")),
                ("stop", _l("Stop below") if low else _l("Stop beyond")),
            ):
                kind: Any = FractionField if fraction else NumberField
                options = {} if fraction else {"unit": "" if NUMERIC[rule] == "count" else NUMERIC[rule]}
                found[f"{rule.value}-{side}"] = kind(label, **options)
        else:
            found[f"{rule.value}-differs"] = ChoiceField(
                _l("Where it differs"), kind=Verdict, labels=VERDICT_LABELS
            )
        found[f"{rule.value}-unknown"] = ChoiceField(
            _l("Where it is unknown"), kind=Verdict, labels=VERDICT_LABELS
        )
        found[f"{rule.value}-basis"] = TextField(_l("Basis"), most=300)
    return found


class _RulesForm(RefusableForm):
    """Rules from a day on."""

    name = TextField(
        _l("Name"), most=120, needed=True, description=_l("By which people tell the set from others.")
    )
    valid_from = DayField(_l("In force from"), needed=True)
    reason = TextField(_l("Reason"), most=500, needed=True, description=_l("Why the rules are what they are now."))

    def labels(self) -> dict[str, str]:
        """Labels by what the history of a set tells."""
        return {"name": _("Name"), "valid_from": _("In force from"), "reason": _("Reason"), "notes": _("Notes")}

    def show(self, column: str, value: Any) -> str:
        """A value of the history."""
        return format_date(dt.date.fromisoformat(value)) if column == "valid_from" else str(value)

    @classmethod
    def stored(cls, rules: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
        """What to fill the form with."""
        return {f"{rule}-{field}": value for rule, terms in rules.items() for field, value in terms.items()}

    def rules(self, texts: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
        """The rules typed; what a rule means in words stays as it was in ``texts``."""
        found: dict[str, dict[str, Any]] = {}
        for rule in Rule:
            sides = ("caution", "stop") if rule in NUMERIC else ("differs",)
            own = {field: self[f"{rule.value}-{field}"].data for field in (*sides, "unknown", "basis")}
            words = {name: value.value if isinstance(value, Verdict) else value for name, value in own.items()}
            found[rule.value] = {**words, "text": texts.get(rule.value, {}).get("text", "")}
        return found

    def grouped(self) -> list[tuple[Rule, str, list[Any]]]:
        """Each rule with its fields."""
        return [
            (
                rule,
                str(RULE_LABELS[rule]),
                [f for name, f in self._fields.items() if name.startswith(f"{rule.value}-")],
            )
            for rule in Rule
        ]


RulesForm: Any = type("RulesForm", (_RulesForm,), _rule_fields())
