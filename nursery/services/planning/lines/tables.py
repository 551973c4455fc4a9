"""The whole table of a plan as rows for a file: every field of the contract."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
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
from nursery.services.origin.words import SOURCE_LABELS, VERDICT_LABELS
from nursery.services.planning.decided import decisions_of, tell_decision
from nursery.services.planning.held import read_held
from nursery.services.planning.lines.listing import COLUMNS, lines_listing
from nursery.services.planning.words import protocol_name, sentence
from nursery.services.seasons import season_name
from nursery.tabular.writer import Cell, CellKind, Heading

#: Fields in the order of the contract; ``lots`` stands after the grams, ``problems`` at the end.
ORDER = (
    "target_id", "site", "species", "season", "status", "wanted", "plants_to_plant", "ready_plants", "method",
    "protocol", "container", "nursery", "seeds_per_cell", "cells", "trays", "cells_sown", "seeds", "grams", "lots",
    "origin", "seeds_missing", "collect_by", "pretreat_on", "sow_on", "ready_on", "plant_on", "expected", "p10",
    "p90", "probability", "shortfall", "held", "problems",
)  # fmt: skip
_LABELS = {
    "lots": _l("Lots: seeds (g)"),
    "origin": _l("Lots: verdict and decision"),
    "held": _l("What holds it"),
    "problems": _l("Findings"),
}
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
        line_ids = [row.id for row in portion]
        texts = {"lots": _lots(session, line_ids), "origin": _origins(session, line_ids)}
        lines = session.scalars(select(PlanLine).where(PlanLine.id.in_(line_ids))).all()
        texts["held"] = read_held(session, lines)
        for row in portion:
            yield [_cell(key, row, texts, entries) for key in ORDER]


def _heading(key: str) -> Heading:
    if key in _LABELS:
        return Heading(str(_LABELS[key]), width=40)
    column = _COLUMNS[key]
    unit = f" ({column.unit})" if str(column.unit) else ""
    wide = column.kind in {"text", "taxon"}
    kind = _KINDS.get(column.kind, "text")
    digits = _DIGITS.get(key, 0) if kind == "number" else None
    return Heading(f"{column.label}{unit}", kind, digits=digits, width=28 if wide else 14)


def _cell(
    key: str, row: Row[Any], texts: Mapping[str, Mapping[int, Sequence[str]]], entries: dict[int, SpeciesEntry]
) -> Cell:
    if key in texts:
        return (" " if key == "held" else "; ").join(texts[key].get(row.id, ()))
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


def _origins(session: Session, line_ids: Iterable[int]) -> dict[int, list[str]]:
    """What the rules say of each lot of a line, and what a person decided."""
    draws = session.scalars(select(Draw).where(Draw.line_id.in_(line_ids)).order_by(Draw.id)).all()
    decisions = decisions_of(session, draws)
    found: defaultdict[int, list[str]] = defaultdict(list)
    for draw in draws:
        if draw.verdict is None or draw.source is None:
            continue
        told = _(
            "%(lot)s: %(verdict)s, %(source)s",
            lot=draw.lot_code, verdict=VERDICT_LABELS[draw.verdict], source=SOURCE_LABELS[draw.source],
        )  # fmt: skip
        decided = decisions.get(draw.id)
        found[draw.line_id].append(f"{told}. {tell_decision(decided)}" if decided else told)
    return found


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
