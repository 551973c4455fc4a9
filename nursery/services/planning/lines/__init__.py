"""Plan lines as people read them: listed, summed up, told as a story, each number explained."""

from nursery.services.planning.lines.differences import (
    KIND_LABELS,
    Change,
    PlanChanges,
    change_headings,
    changed_rows,
    describe_changes,
)
from nursery.services.planning.lines.listing import lines_listing
from nursery.services.planning.lines.mix import MixView, read_mix
from nursery.services.planning.lines.moves import DrawMoves, draw_moves
from nursery.services.planning.lines.numbers import Given, Number, chance_text, explain_line
from nursery.services.planning.lines.reading import LineView, LotDraw, read_line
from nursery.services.planning.lines.story import Step, first_step, tell_line
from nursery.services.planning.lines.tables import line_headings, line_rows
from nursery.services.planning.lines.totals import (
    PlanTotals,
    SeasonTotals,
    changes_since,
    lines_by_status,
    lines_without_container,
    plan_totals,
)

__all__ = [
    "KIND_LABELS",
    "Change",
    "DrawMoves",
    "Given",
    "LineView",
    "LotDraw",
    "MixView",
    "Number",
    "PlanChanges",
    "PlanTotals",
    "SeasonTotals",
    "Step",
    "chance_text",
    "change_headings",
    "changed_rows",
    "changes_since",
    "describe_changes",
    "draw_moves",
    "explain_line",
    "first_step",
    "line_headings",
    "line_rows",
    "lines_by_status",
    "lines_listing",
    "lines_without_container",
    "plan_totals",
    "read_line",
    "read_mix",
    "tell_line",
]
