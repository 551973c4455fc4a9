"""Two plans side by side, line by line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, load_only

from nursery.models import Plan, PlanLine

#: What is compared, in the order in which it is shown.
FIELDS = (
    "status", "wanted", "plants_to_plant", "method", "container_name", "seeds_per_cell", "trays", "seeds", "grams",
    "seeds_missing", "pretreat_on", "sow_on", "plant_on", "expected", "probability", "shortfall",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Difference:
    """One target in both plans; a side without the target has no line."""

    before: PlanLine | None
    after: PlanLine | None
    #: ``{field: (before, after)}`` for what differs; all fields where a side is missing.
    changes: dict[str, tuple[Any, Any]]

    @property
    def line(self) -> PlanLine:
        """The newer of the two lines, for names."""
        line = self.after or self.before
        assert line is not None  # noqa: S101 -- one side is always there
        return line


def compare_plans(session: Session, before: Plan, after: Plan) -> list[Difference]:
    """Lines that differ between two plans, in the order of the newer one; equal lines are left out."""
    old, new = (_by_target(session, plan) for plan in (before, after))
    found = []
    for target in dict.fromkeys([*new, *old]):
        one, two = old.get(target), new.get(target)
        changes = {
            field: pair
            for field in FIELDS
            if _differs(*(pair := (getattr(one, field, None), getattr(two, field, None))))
        }
        if changes:
            found.append(Difference(one, two, changes))
    return found


def _differs(before: Any, after: Any) -> bool:
    if isinstance(before, float) and isinstance(after, float):
        return abs(before - after) > 1e-9 * max(abs(before), abs(after))
    return bool(before != after)


def _by_target(session: Session, plan: Plan) -> dict[int, PlanLine]:
    # Phases, findings and basis are most of a line and are not compared.
    read = load_only(
        *(getattr(PlanLine, name) for name in ("target_id", "site_name", "species_name", "season", *FIELDS))
    )
    lines = session.scalars(
        select(PlanLine).where(PlanLine.plan_id == plan.id).order_by(PlanLine.id).options(read)
    )
    return {line.target_id: line for line in lines}
