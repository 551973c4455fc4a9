"""The whole table of a plan as rows for a file: every field of the contract."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Draw, PlanLine
from nursery.services.catalogue import effective_entries
from nursery.services.listing import Column, ListQuery, export_rows
from nursery.services.planning.lines.listing import COLUMNS, lines_listing
from nursery.services.planning.words import protocol_name, sentence
from nursery.services.seasons import season_name
from nursery.tabular.writer import Cell, CellKind, Heading

#: Fields in the order of the contract; ``lots`` stands after the grams, ``problems`` at the end.
ORDER = (
    "target_id", "site", "species", "season", "status", "wanted", "plants_to_plant", "ready_plants", "method",
    "protocol", "container", "nursery", "seeds_per_cell", "cells", "trays", "cells_sown", "seeds", "grams", "lots",
    "seeds_missing", "collect_by", "pretreat_on", "sow_on", "ready_on", "plant_on", "expected", "p10", "p90",
    "probability", "shortfall", "problems",
)  # fmt: skip
_LABELS = {"lots": _l("Lots: seeds (g)"), "problems": _l("Findings")}
_KINDS: dict[str, CellKind] = {"number": "number", "percent": "percent", "date": "date"}
_DIGITS = {"grams": 3, "expected": 1}
_COLUMNS: dict[str, Column] = {column.key: column for column in COLUMNS}
#: Lines whose lots are read together.
PORTION = 500


def line_headings() -> list[Heading]:
    """The head of the table."""
    return [_heading(key) for key in ORDER]


def line_rows(session: Session, plan_id: int, query: ListQuery) -> Iterator[list[Cell]]:
    """The lines of a plan as filtered and sorted; a query for the lots of each ``PORTION`` of lines."""
    entries = effective_entries(session)
    rows = iter(export_rows(session, lines_listing(plan_id), query, where=(PlanLine.plan_id == plan_id,)))
    while portion := list(islice(rows, PORTION)):
        lots = _lots(session, [row.id for row in portion])
        for row in portion:
            yield [_cell(key, row, lots, entries) for key in ORDER]


def _heading(key: str) -> Heading:
    if key in _LABELS:
        return Heading(str(_LABELS[key]), width=40)
    column = _COLUMNS[key]
    unit = f" ({column.unit})" if str(column.unit) else ""
    wide = column.kind in {"text", "taxon"}
    kind = _KINDS.get(column.kind, "text")
    digits = _DIGITS.get(key, 0) if kind == "number" else None
    return Heading(f"{column.label}{unit}", kind, digits=digits, width=28 if wide else 14)


def _cell(key: str, row: Row[Any], lots: dict[int, list[str]], entries: dict[int, SpeciesEntry]) -> Cell:
    if key == "lots":
        return "; ".join(lots.get(row.id, ()))
    value = getattr(row, key)
    if key == "problems":
        return sentences(value, entries.get(row.species_id))
    if key == "season":
        return season_name(value)
    if key == "protocol":
        return protocol_name(value, entries.get(row.species_id))
    choices = _COLUMNS[key].choices
    cell: Cell = str(choices[value]) if choices else value
    return cell


def sentences(problems: Sequence[dict[str, Any]], entry: SpeciesEntry | None) -> str:
    """All findings of a line in one text."""
    return " ".join(sentence(problem, entry) for problem in problems)


def _lots(session: Session, line_ids: Iterable[int]) -> dict[int, list[str]]:
    found: defaultdict[int, list[str]] = defaultdict(list)
    draws = session.execute(
        select(Draw.line_id, Draw.lot_code, Draw.seeds, Draw.milligrams)
        .where(Draw.line_id.in_(line_ids))
        .order_by(Draw.id)
    )
    for line_id, code, seeds, milligrams in draws:
        found[line_id].append(
            f"{code}: {seeds}"
            if milligrams is None
            else _("%(lot)s: %(seeds)s (%(grams)s g)", lot=code, seeds=seeds, grams=milligrams / 1000)
        )
    return found
