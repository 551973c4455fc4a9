"""Lines of a plan that is reckoned and not written down, as the same records that a kept plan has."""

from __future__ import annotations

from nursery.models import Draw, Plan, PlanLine
from nursery.planning.plan import PlanResult
from nursery.services.planning.gather import Gathered
from nursery.services.planning.keep import draw_rows, line_rows


def unwritten_lines(gathered: Gathered, result: PlanResult) -> list[PlanLine]:
    """Lines with their draws; their ids are below zero, and no session knows them."""
    rows = line_rows(Plan(), gathered, result)
    lines = [PlanLine(id=-number, **row) for number, row in enumerate(rows, start=1)]
    for row in draw_rows(gathered, result, list(range(len(lines)))):
        lines[row.pop("line_id")].draws.append(Draw(**row))
    return lines
