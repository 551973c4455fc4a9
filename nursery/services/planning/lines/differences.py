"""Two plans compared, said in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from sqlalchemy.orm import Session

from nursery.catalog.vocabulary import METHODS
from nursery.i18n import format_date, format_number
from nursery.i18n import lazy as _l
from nursery.models import Plan
from nursery.services.planning.compare import Difference, compare_plans
from nursery.services.planning.lines.explained import chance_text
from nursery.services.planning.lines.totals import PlanTotals, plan_totals
from nursery.services.planning.words import STATUS
from nursery.services.seasons import season_name
from nursery.tabular.writer import Cell, Heading

Kind = Literal["changed", "new", "gone"]
KIND_LABELS = {"changed": _l("Changed"), "new": _l("New"), "gone": _l("Gone")}
FIELD_LABELS = {
    "status": _l("Status"),
    "wanted": _l("Wanted"),
    "plants_to_plant": _l("Plants to plant"),
    "method": _l("Method"),
    "container_name": _l("Container"),
    "seeds_per_cell": _l("Seeds per cell"),
    "trays": _l("Trays"),
    "seeds": _l("Seeds or cuttings"),
    "grams": _l("Seed (g)"),
    "seeds_missing": _l("Seeds to collect"),
    "pretreat_on": _l("Begin"),
    "sow_on": _l("Sow"),
    "plant_on": _l("Plant"),
    "expected": _l("Ready plants expected"),
    "probability": _l("Chance"),
    "shortfall": _l("Short"),
}
#: What is told of a line that only one plan has.
_OF_ONE_SIDE = ("status", "wanted", "trays", "seeds", "sow_on")


@dataclass(frozen=True)
class Change:
    """One line that differs; ``fields`` as label, before, after."""

    kind: Kind
    difference: Difference
    fields: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class PlanChanges:
    """All that differs between two plans."""

    changes: tuple[Change, ...]
    counts: dict[Kind, int]
    before: PlanTotals
    after: PlanTotals


def describe_changes(session: Session, before: Plan, after: Plan) -> PlanChanges:
    """The lines that differ, in words, and both plans in sums."""
    described = (_change(difference) for difference in compare_plans(session, before, after))
    changes = tuple(change for change in described if change.fields)
    counted = Counter(change.kind for change in changes)
    return PlanChanges(
        changes,
        {"changed": counted["changed"], "new": counted["new"], "gone": counted["gone"]},
        plan_totals(session, before.id),
        plan_totals(session, after.id),
    )


def change_headings() -> list[Heading]:
    """The head of the table of changes: a row for each field."""
    return [
        Heading(str(_l("Target number")), "number", digits=0),
        Heading(str(_l("Planting site")), width=28),
        Heading(str(_l("Species")), width=28),
        Heading(str(_l("Season"))),
        Heading(str(_l("Line"))),
        Heading(str(_l("Field")), width=24),
        Heading(str(_l("Before")), width=24),
        Heading(str(_l("After")), width=24),
    ]


def changed_rows(changes: Sequence[Change]) -> Iterator[list[Cell]]:
    """The changes as rows, one a field."""
    for change in changes:
        line = change.difference.line
        for label, before, after in change.fields:
            yield [
                line.target_id,
                line.site_name,
                line.species_name,
                season_name(line.season),
                str(KIND_LABELS[change.kind]),
                label,
                before,
                after,
            ]


def _change(difference: Difference) -> Change:
    kind: Kind = "new" if difference.before is None else "gone" if difference.after is None else "changed"
    fields = difference.changes if kind == "changed" else _OF_ONE_SIDE
    told = (_told(difference, field) for field in fields if field in difference.changes)
    # A difference that rounding hides on the page is none to its reader.
    return Change(
        kind, difference, tuple((label, before, after) for label, before, after in told if before != after)
    )


def _told(difference: Difference, field: str) -> tuple[str, str, str]:
    before, after = difference.changes[field]
    return str(FIELD_LABELS[field]), field_text(field, before), field_text(field, after)


def field_text(field: str, value: Any) -> str:
    """A compared value as a person reads it; nothing for nothing."""
    if value is None:
        return ""
    if field == "status":
        return str(STATUS[value][0])
    if field == "method":
        return str(METHODS[value])
    if field == "probability":
        return chance_text(value)
    if field.endswith("_on"):
        return format_date(value)
    return value if isinstance(value, str) else format_number(value, 1 if field == "grams" else 0)
