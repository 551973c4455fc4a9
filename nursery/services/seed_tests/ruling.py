"""Which test rules which figure of a lot.

For viability the latest accepted germination or tetrazolium test rules (on one day the germination test); a cut
test, which tells sound seed from empty but not living from dead, rules only where there is neither. For purity,
weight and moisture the latest accepted test rules. A test that was withdrawn or refused rules nothing.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Lot, SeedTest
from nursery.models.seed_tests import TestKind

#: A lot's column: the test that rules it, or None.
Ruling = Mapping[str, SeedTest | None]

COLUMNS = {
    "germination": (TestKind.GERMINATION, TestKind.TETRAZOLIUM, TestKind.CUT),
    "purity": (TestKind.PURITY,),
    "tsw_g": (TestKind.WEIGHT,),
    "moisture_pct": (TestKind.MOISTURE,),
}
COLUMN_OF = {kind: column for column, kinds in COLUMNS.items() for kind in kinds}


def stands(test: SeedTest) -> bool:
    """Whether a test may rule."""
    return test.is_accepted and test.withdrawn_at is None


def rulings(tests: Iterable[SeedTest]) -> Ruling:
    """The test that rules each figure."""
    standing = [test for test in tests if stands(test)]
    return {
        column: max((test for test in standing if test.kind in kinds), key=_precedence, default=None)
        for column, kinds in COLUMNS.items()
    }


def ruled_columns(tests: Iterable[SeedTest]) -> dict[str, SeedTest]:
    """The columns of a lot that its tests rule, each with its test; the day goes with the germination."""
    ruled = {column: test for column, test in rulings(tests).items() if test is not None}
    if "germination" in ruled:
        ruled["tested_on"] = ruled["germination"]
    return ruled


def ruled_lots(session: Session) -> dict[int, dict[str, SeedTest]]:
    """`ruled_columns` of every lot that has tests, by one query."""
    by_lot: defaultdict[int, list[SeedTest]] = defaultdict(list)
    for test in session.scalars(
        select(SeedTest).where(SeedTest.is_accepted, SeedTest.withdrawn_at.is_(None)).order_by(SeedTest.id)
    ):
        by_lot[test.lot_id].append(test)
    return {lot_id: ruled_columns(tests) for lot_id, tests in by_lot.items()}


def refuse_ruled(lot: Lot, tests: Iterable[SeedTest], values: Mapping[str, Any]) -> dict[str, str]:
    """What is wrong with typing other figures over those that tests rule, by column."""
    return {
        column: _(
            "The test of %(day)s rules this figure. Record a newer test, or withdraw that one if it was wrong.",
            day=format_date(test.tested_on),
        )
        for column, test in ruled_columns(tests).items()
        if column in values and values[column] != getattr(lot, column)
    }


def refused_last(tests: Iterable[SeedTest]) -> list[SeedTest]:
    """Refused tests after which no test of their figure was accepted: they are to be repeated."""
    live = [test for test in tests if test.withdrawn_at is None]
    newest: dict[str, SeedTest] = {}
    for test in sorted(live, key=lambda test: (test.tested_on, test.id)):
        newest[COLUMN_OF[test.kind]] = test
    return [test for test in newest.values() if not test.is_accepted]


def apply(lot: Lot, tests: Sequence[SeedTest], changed: SeedTest) -> None:
    """Set the figure that ``changed`` speaks of to what now rules it.

    What a person had typed before the first test ruled is kept in that test's verdict as ``before``, and comes
    back when no test rules any more.
    """
    column = COLUMN_OF[changed.kind]
    test = rulings(tests)[column]
    others = [other for other in tests if COLUMN_OF[other.kind] == column]
    if test is None:
        typed = next((other.verdict["before"] for other in others if "before" in other.verdict), None)
        if typed is not None:
            _put(lot, column, typed)
        return
    if not any("before" in other.verdict for other in others):
        # A new dictionary, so that the change is seen and written.
        test.verdict = {**test.verdict, "before": _typed(lot, column)}
    _put(lot, column, {"value": test.result, "tested_on": test.tested_on.isoformat()})


#: Figures whose day is a column of the lot too.
_DAYS = {"germination": "tested_on", "moisture_pct": "moisture_on"}


def _typed(lot: Lot, column: str) -> dict[str, Any]:
    day = getattr(lot, _DAYS[column]) if column in _DAYS else None
    return {"value": getattr(lot, column), "tested_on": day.isoformat() if day else None}


def _put(lot: Lot, column: str, figure: Mapping[str, Any]) -> None:
    setattr(lot, column, figure["value"])
    if column in _DAYS:
        day = dt.date.fromisoformat(figure["tested_on"]) if figure["tested_on"] else None
        setattr(lot, _DAYS[column], day)


def _precedence(test: SeedTest) -> tuple[Any, ...]:
    return (test.kind is not TestKind.CUT, test.tested_on, test.kind is TestKind.GERMINATION, test.id)
