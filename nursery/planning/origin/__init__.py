"""Which material may be planted where, by its origin.

Models and pages need only the words, so that the arrays behind the rules are imported from their own modules.
"""

from nursery.planning.origin.words import Rule, Source, StrategyKind, Verdict

__all__ = ["Rule", "Source", "StrategyKind", "Verdict"]
