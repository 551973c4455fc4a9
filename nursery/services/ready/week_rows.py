"""What is ready by which week of the planting window, against what should have gone out by then."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from nursery.planning.growing.words import Stage
from nursery.services.ready.rows import Stock, Want, ranged
from nursery.services.weeks import Week

#: A window of more weeks than this is one by mistake.
MOST_WEEKS = 60


class When(StrEnum):
    """Before the first week, in one, after the last, or on no day that is known."""

    BEFORE = "before"
    WEEK = "week"
    AFTER = "after"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class WeekRow:
    """Plants that become ready in one span of time, and all that are ready by its end."""

    when: When
    #: Of a week; of the rows around the weeks that before or after which they lie.
    week: Week
    gain: int
    #: By species: name and plants, the most first.
    species: tuple[tuple[str, int], ...]
    by_then: int
    low: int
    high: int
    #: Asked for by sites whose planting has begun by then, and not sent out yet.
    asked: int


def weeks_of(stock: Sequence[Stock], wants: Sequence[Want], today: dt.date) -> list[WeekRow]:
    """Rows in order of time; the gains of all rows are all that is expected."""
    first, last = _window(stock, wants, today)
    found: defaultdict[tuple[When, Week], list[Stock]] = defaultdict(list)
    for row in stock:
        found[_place(row, first, last)].append(row)
    spans = [(When.BEFORE, first)]
    spans += [(When.WEEK, first.plus(number)) for number in range((last.monday - first.monday).days // 7 + 1)]
    spans += [span for span in ((When.AFTER, last), (When.UNKNOWN, last)) if found[span]]
    rows: list[WeekRow] = []
    by_then: list[Stock] = []
    for when, week in spans:
        gained = found[when, week]
        by_then += gained
        low, high = ranged(by_then)
        end = week.monday - dt.timedelta(days=1) if when is When.BEFORE else week.sunday
        rows.append(
            WeekRow(
                when=when,
                week=week,
                gain=sum(row.expected for row in gained),
                species=_species(gained),
                by_then=sum(row.expected for row in by_then),
                low=low,
                high=high,
                asked=sum(
                    want.wanted - min(want.sent, want.wanted)
                    for want in wants
                    if want.opens_on <= end or when in {When.AFTER, When.UNKNOWN}
                ),
            )
        )
    return rows


@dataclass(frozen=True, slots=True)
class SpeciesWeek:
    """Plants of one species that become ready in one span of time, and all of it that is ready by its end."""

    row: WeekRow
    species_name: str
    gain: int
    by_then: int


def species_weeks(rows: Sequence[WeekRow]) -> list[SpeciesWeek]:
    """The same species by species: a row wherever something of it becomes ready."""
    by_then: defaultdict[str, int] = defaultdict(int)
    found = []
    for row in rows:
        for name, plants in sorted(row.species):
            by_then[name] += plants
            found.append(SpeciesWeek(row, name, plants, by_then[name]))
    return sorted(found, key=lambda one: one.species_name)


def _window(stock: Sequence[Stock], wants: Sequence[Want], today: dt.date) -> tuple[Week, Week]:
    """From the week in which planting begins, or this one, to that in which it ends; all of it once it is over."""
    days = [row.ready_on for row in stock if row.ready_on is not None and row.stage is not Stage.READY]
    opens = min((want.opens_on for want in wants), default=today)
    closes = max((want.closes_on for want in wants), default=max(days, default=today))
    first, last = Week.of(max(opens, today) if closes >= today else opens), Week.of(max(closes, opens))
    return first, min(last, first.plus(MOST_WEEKS - 1))


def _place(row: Stock, first: Week, last: Week) -> tuple[When, Week]:
    if row.stage is Stage.READY:
        return When.BEFORE, first
    if row.ready_on is None:
        return When.UNKNOWN, last
    if row.ready_on < first.monday:
        return When.BEFORE, first
    if row.ready_on > last.sunday:
        return When.AFTER, last
    return When.WEEK, Week.of(row.ready_on)


def _species(stock: Sequence[Stock]) -> tuple[tuple[str, int], ...]:
    found: defaultdict[str, int] = defaultdict(int)
    for row in stock:
        found[row.species_name] += row.expected
    return tuple(
        sorted(((name, plants) for name, plants in found.items() if plants), key=lambda one: (-one[1], one[0]))
    )
