"""Rules of origin as arrays: one row for each version that some site follows, one column for each rule."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nursery.planning.arrays import Floats
from nursery.planning.origin.words import Rule, Verdict

Levels = NDArray[np.int8]

#: Verdicts by their level; `NOT_JUDGED` where a rule has nothing to say.
LEVELS = tuple(Verdict)
NOT_JUDGED = -1
#: Rules by their column.
RULES = tuple(Rule)
COLUMN = {rule: column for column, rule in enumerate(RULES)}
#: Rules with limits, and their units.
NUMERIC = {
    Rule.ELEVATION: "m",
    Rule.DISTANCE: "km",
    Rule.TEMPERATURE: "K",
    Rule.RAIN: "fraction",
    Rule.FROST: "K",
    Rule.MOTHERS: "count",
    Rule.FAMILY: "fraction",
}
#: Of these a low value is bad.
LOW_IS_BAD = frozenset({Rule.MOTHERS})


def level_of(verdict: str) -> int:
    """0 for pass, 1 for caution, 2 for stop; ValueError for another word."""
    return LEVELS.index(Verdict(verdict))


@dataclass(frozen=True)
class RuleTable:
    """Limits and levels, shape (versions, rules); ``rules`` are the versions as they were given.

    ``caution`` and ``stop`` are NaN where there is no such limit. A rule that a version leaves out is not judged.
    """

    caution: Floats
    stop: Floats
    differs: Levels
    unknown: Levels
    rules: tuple[Mapping[str, Mapping[str, Any]], ...]

    @classmethod
    def of(cls, versions: Sequence[Mapping[str, Mapping[str, Any]]]) -> RuleTable:
        """The table of versions as `defaults.DEFAULT_RULES` is written.

        Raises
        ------
        ValueError
            For a rule or a verdict that does not exist.
        """
        shape = (len(versions), len(RULES))
        caution, stop = np.full(shape, np.nan), np.full(shape, np.nan)
        differs, unknown = np.full(shape, NOT_JUDGED, np.int8), np.full(shape, NOT_JUDGED, np.int8)
        for row, version in enumerate(versions):
            for name, terms in version.items():
                rule = Rule(name)
                at = row, COLUMN[rule]
                unknown[at] = level_of(terms["unknown"])
                if rule in NUMERIC:
                    caution[at], stop[at] = (_limit(terms[side]) for side in ("caution", "stop"))
                else:
                    differs[at] = level_of(terms["differs"])
        return cls(caution, stop, differs, unknown, tuple(versions))

    def __len__(self) -> int:
        """Number of versions."""
        return len(self.rules)


def _limit(value: float | None) -> float:
    return np.nan if value is None else float(value)
