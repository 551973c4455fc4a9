"""The calendar of a plan: its lines with all their dates, as a list, as a chart and as a table of phases."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from nursery.catalog.vocabulary import NURSERY_PHASES, PRETREATMENT_PHASES
from nursery.documents.charts import Bar, ChartRow, ChartWords, calendar_svg
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import PlanLine
from nursery.models.plans import LineStatus
from nursery.services.listing import Column, Filter, Listing, choice_options, whole
from nursery.services.planning import current_plan
from nursery.services.planning.words import STATUS
from nursery.services.seasons import season_name

STATUS_LABELS = {status: label for status, (label, _tone) in STATUS.items()}
Options = Callable[[Session], Sequence[tuple[str, str]]]


def _values_of(column: InstrumentedAttribute[Any], name: Callable[[Any], str] = str) -> Options:
    """Filter options: the values that lines of the plan in force have."""

    def read(session: Session) -> Sequence[tuple[str, str]]:
        plan = current_plan(session)
        if plan is None:
            return []
        values = session.scalars(
            select(column).where(PlanLine.plan_id == plan.id).distinct().order_by(column).limit(500)
        )
        return [(str(value), name(value)) for value in values]

    return read


LISTING = Listing(
    model=PlanLine,
    order="pretreat_on",
    columns=(
        Column("species_name", _l("Species"), PlanLine.species_name, "taxon"),
        Column("site_name", _l("Planting site"), PlanLine.site_name, on_screen=False),
        Column("season", _l("Season"), PlanLine.season, "season", on_screen=False),
        Column("status", _l("Status"), PlanLine.status, "choice", choices=STATUS_LABELS),
        Column("collect_by", _l("Collect by"), PlanLine.collect_by, "date"),
        Column("pretreat_on", _l("Work begins"), PlanLine.pretreat_on, "date"),
        Column("sow_on", _l("Sowing"), PlanLine.sow_on, "date"),
        Column("ready_on", _l("Ready"), PlanLine.ready_on, "date"),
        Column("plant_on", _l("Planting"), PlanLine.plant_on, "date"),
        Column("phases", _l("Phases begin"), PlanLine.phases, sortable=False),
        Column("wanted", _l("Plants wanted"), PlanLine.wanted, "number", on_screen=False),
        Column("method", _l("Method"), PlanLine.method, on_screen=False, sortable=False),
        Column("nursery_name", _l("Nursery"), PlanLine.nursery_name, on_screen=False),
    ),
    search=(PlanLine.species_name, PlanLine.site_name, PlanLine.nursery_name),
    filters=(
        Filter("season", _l("Season"), PlanLine.season, _values_of(PlanLine.season, season_name), parse=whole),
        Filter("site", _l("Planting site"), PlanLine.site_name, _values_of(PlanLine.site_name)),
        Filter("species", _l("Species"), PlanLine.species_name, _values_of(PlanLine.species_name)),
        Filter("nursery", _l("Nursery"), PlanLine.nursery_name, _values_of(PlanLine.nursery_name)),
        Filter("status", _l("Status"), PlanLine.status, choice_options(STATUS_LABELS), parse=LineStatus),
    ),
)


@dataclass(frozen=True, slots=True)
class PhaseDates:
    """One phase of a line, as people read it."""

    label: str
    start: dt.date
    end: dt.date
    wait_days: int


def phase_dates(phases: Sequence[dict[str, Any]]) -> list[PhaseDates]:
    """Phases of a line with their dates."""
    words = phase_words()
    return [
        PhaseDates(
            words.get(phase["name"], phase["name"]),
            dt.date.fromisoformat(phase["start"]),
            dt.date.fromisoformat(phase["end"]),
            phase["wait_days"],
        )
        for phase in phases
    ]


def phase_words() -> dict[str, str]:
    """Names of all phases in the reader's language."""
    return {key: str(label) for key, label in (PRETREATMENT_PHASES | NURSERY_PHASES).items()}


def chart(rows: Iterable[Row[Any]], *, today: dt.date, title: str, narrow: bool) -> bytes:
    """The rows of `LISTING` as an SVG."""
    words = ChartWords(
        title=title,
        today=_("Today"),
        waiting=_("Waiting"),
        sowing=_("Sowing"),
        planting=_("Planting"),
        phases=phase_words(),
    )
    return calendar_svg([_chart_row(row) for row in rows], today=today, words=words, narrow=narrow)


def _chart_row(row: Row[Any]) -> ChartRow:
    status = "" if row.status is LineStatus.ON_TRACK else f" · {STATUS_LABELS[row.status]}"
    bars = [
        Bar(
            phase["name"],
            dt.date.fromisoformat(phase["start"]),
            dt.date.fromisoformat(phase["end"]),
            phase["wait_days"],
        )
        for phase in row.phases
    ]
    return ChartRow(row.species_name, row.site_name + status, bars, row.sow_on, row.plant_on)


def phase_rows(rows: Iterable[Row[Any]]) -> Iterator[tuple[Row[Any], PhaseDates]]:
    """One row a phase, for tables that other programs read."""
    for row in rows:
        for phase in phase_dates(row.phases):
            yield row, phase
