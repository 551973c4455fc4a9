"""Which material may be planted where, by its origin."""

from nursery.planning.origin.places import ALLOWED, Origin, asked_place, judge_origin, offered_places
from nursery.planning.origin.words import Rule, Source, StrategyKind, Verdict

__all__ = [
    "ALLOWED",
    "Origin",
    "Rule",
    "Source",
    "StrategyKind",
    "Verdict",
    "asked_place",
    "judge_origin",
    "offered_places",
]
