"""Verdicts, rules and reasons in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import format_number, format_percent, gettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.decisions import DecisionKind
from nursery.planning.mixing import Basic, Category
from nursery.planning.origin.rule_table import LOW_IS_BAD, NUMERIC
from nursery.planning.origin.words import Rule, Source, StrategyKind, Verdict
from nursery.services.populations import STATUS_LABELS

VERDICT_LABELS = {Verdict.PASS: _l("pass"), Verdict.CAUTION: _l("caution"), Verdict.STOP: _l("stop")}
#: Tones of the design for the verdicts.
TONES = {Verdict.PASS: "ok", Verdict.CAUTION: "caution", Verdict.STOP: "stop"}
RULE_LABELS = {
    Rule.SPECIES: _l("Species"),
    Rule.REGION: _l("Region of provenance"),
    Rule.BASIN: _l("River basin"),
    Rule.ELEVATION: _l("Elevation"),
    Rule.DISTANCE: _l("Distance"),
    Rule.TEMPERATURE: _l("Mean temperature"),
    Rule.RAIN: _l("Annual rain"),
    Rule.FROST: _l("Frost"),
    Rule.STATUS: _l("Indigenous status"),
    Rule.CATEGORY: _l("Category"),
    Rule.PERMIT: _l("Collecting permit"),
    Rule.MOTHERS: _l("Effective mothers"),
    Rule.FAMILY: _l("Largest family"),
}
SOURCE_LABELS = {
    Source.LOCAL: _l("local"),
    Source.NEAR: _l("near"),
    Source.FAR: _l("far"),
    Source.CLIMATE: _l("for the climate to come"),
}
KIND_LABELS = {
    StrategyKind.STRICT: _l("Strictly local"),
    StrategyKind.REGION: _l("Same region"),
    StrategyKind.ADMIXTURE: _l("Regional admixture"),
    StrategyKind.COMPOSITE: _l("Composite"),
    StrategyKind.CLIMATE: _l("Climate-adjusted"),
}
KIND_TEXTS = {
    StrategyKind.STRICT: _l("Only from the site's own region of provenance and its own river basin."),
    StrategyKind.REGION: _l(
        "From anywhere in the site's region of provenance. This is what a site without a strategy does."
    ),
    StrategyKind.ADMIXTURE: _l("From several populations of the site's region, none of them too large a part."),
    StrategyKind.COMPOSITE: _l(
        "Mostly local, with smaller shares from near and from far. Lots of other regions are planted side by side"
        " and labelled, never mixed as seed."
    ),
    StrategyKind.CLIMATE: _l(
        "Local, with shares from near and from stands whose climate today is like the one expected here. Lots of"
        " other regions are planted side by side and labelled, never mixed as seed."
    ),
}
DECISION_LABELS = {
    DecisionKind.PIN: _l("pinned"),
    DecisionKind.FORBID: _l("forbidden"),
    DecisionKind.OVERRIDE: _l("allowed despite a stop"),
}
CATEGORY_LABELS = {
    Category.SOURCE_IDENTIFIED: _l("Source-identified"),
    Category.SELECTED: _l("Selected"),
    Category.QUALIFIED: _l("Qualified"),
    Category.TESTED: _l("Tested"),
}
BASIC_LABELS = {
    Basic.SEED_SOURCE: _l("Seed source"),
    Basic.STAND: _l("Stand"),
    Basic.SEED_ORCHARD: _l("Seed orchard"),
    Basic.PARENTS: _l("Parents of family"),
    Basic.CLONE: _l("Clone"),
    Basic.CLONAL_MIXTURE: _l("Clonal mixture"),
}
_CODES = {
    "same species": _l("same species"),
    "other species": _l("another species"),
    "held": _l("on hold"),
    "free": _l("not on hold"),
    "native": _l("native"),
    **{status.value: label for status, label in STATUS_LABELS.items()},
    **{category.value: label for category, label in CATEGORY_LABELS.items()},
}


def tell_shares(shares: Mapping[str, float]) -> str:
    """Shares of a strategy in one line."""
    return ", ".join(
        _("%(share)s %(source)s", share=format_percent(share, 1), source=str(SOURCE_LABELS[Source(source)]))
        for source, share in shares.items()
    )


def rule_label(rule: str) -> str:
    """A rule's name."""
    return str(RULE_LABELS[Rule(rule)])


def measured(rule: str, value: float | str | None) -> str:
    """A value found, or a limit, with its unit."""
    if value is None:
        return ""
    if isinstance(value, str):
        return str(_CODES.get(value, value)) if Rule(rule) not in {Rule.REGION, Rule.BASIN} else value
    unit = NUMERIC[Rule(rule)]
    if unit == "fraction":
        return format_percent(value, 1)
    return format_number(value, 1) if unit == "count" else f"{format_number(value, 1)} {unit}"


def limit_text(reason: Mapping[str, Any]) -> str:
    """The limit of a reason: at most, at least, or the one that is asked for."""
    limit = reason["limit"]
    if limit is None:
        return _("none written down")
    told = measured(reason["rule"], limit)
    if isinstance(limit, str):
        return told
    if Rule(reason["rule"]) in LOW_IS_BAD:
        return _("at least %(limit)s", limit=told)
    return _("at most %(limit)s", limit=told)


def found_text(reason: Mapping[str, Any]) -> str:
    """What was found, in words."""
    told = measured(reason["rule"], reason["found"])
    if told and reason.get("note") == "at most":
        return _("not known; at most %(value)s", value=told)
    return told or _("not known")


def note_text(reason: Mapping[str, Any]) -> str:
    """What the site's strategy did to a rule, or what stands in its place; empty where nothing."""
    notes = {
        "at most": _("No bags were kept apart, so only the plants sampled are known."),
        "accepted": _("A stop by this rule, but the site's strategy takes such sources."),
        "strict": _("Stopped by the site's strategy, which takes local sources only."),
        "in place of the region": _("The site has no region of provenance, so its basin stands in its place."),
    }
    return notes.get(reason.get("note", ""), "")


def reason_sentence(reason: Mapping[str, Any]) -> str:
    """One reason in one line: rule, found, limit."""
    return _(
        "%(rule)s: %(found)s; %(limit)s is asked",
        rule=rule_label(reason["rule"]), found=found_text(reason), limit=limit_text(reason),
    )  # fmt: skip


def tell_rule(rule: str, terms: Mapping[str, Any]) -> dict[str, Any]:
    """One rule of a version for people: what it asks, its limits or what a difference means, and its basis."""
    numeric = Rule(rule) in NUMERIC
    sign = "<" if Rule(rule) in LOW_IS_BAD else ">"
    limits = {
        side: f"{sign} {measured(rule, terms[side])}" if numeric and terms.get(side) is not None else ""
        for side in ("caution", "stop")
    }
    if not numeric:
        limits = {side: _("where it differs") if terms["differs"] == side else "" for side in limits}
    return {
        "label": rule_label(rule),
        # Texts of the default rules are translated; a nursery's own stand as they were written.
        **{name: gettext(terms[name]) if terms.get(name) else "" for name in ("text", "basis")},
        "unknown": str(VERDICT_LABELS[Verdict(terms["unknown"])]),
        **limits,
    }


def tell_change(rule: str, field: str, before: Any, after: Any) -> str:
    """One difference between two versions of a set, in one line."""
    fields = {
        "caution": _("caution beyond"), "stop": _("stop beyond"), "differs": _("where it differs"),
        "unknown": _("where it is unknown"), "basis": _("basis"), "text": _("text"),
    }  # fmt: skip
    if Rule(rule) in LOW_IS_BAD:
        fields |= {"caution": _("caution below"), "stop": _("stop below")}
    said = [_told_value(rule, field, value) for value in (before, after)]
    return _(
        "%(rule)s, %(field)s: %(before)s → %(after)s",
        rule=rule_label(rule), field=fields[field], before=said[0], after=said[1],
    )  # fmt: skip


def _told_value(rule: str, field: str, value: Any) -> str:
    if value is None or value == "":
        return "–"
    if field in {"differs", "unknown"}:
        return str(VERDICT_LABELS[Verdict(value)])
    return measured(rule, value) if field in {"caution", "stop"} else str(value)
