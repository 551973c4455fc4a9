"""Everything the page of the next year shows, from one reading; nothing is written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from sqlalchemy.orm import Session

from nursery.services.catalogue import effective_entries
from nursery.services.next_year.changes import SpeciesChange, find_changes
from nursery.services.next_year.errors import STAGES_OF_RATES, RateError, find_errors
from nursery.services.next_year.lines import SeasonPlan, read_lines, seasons_planned
from nursery.services.next_year.query import NextYearQuery
from nursery.services.next_year.seen import read_seen
from nursery.services.seasons import season_of, season_span


@dataclass(frozen=True)
class NextYear:
    """One season looked back at."""

    season: int | None
    seasons: Sequence[int]
    query: NextYearQuery
    plan: SeasonPlan
    until: dt.date
    every: Sequence[RateError]
    changes: Sequence[SpeciesChange]

    @cached_property
    def errors(self) -> list[RateError]:
        """Those asked for."""
        return [
            one for one in self.every
            if self.query.species in {"", one.species_key} and self.query.rate in {"", one.rate}
        ]  # fmt: skip

    @cached_property
    def changed(self) -> list[SpeciesChange]:
        """Species asked for of which the next plan will sow otherwise."""
        return [one for one in self.changes if one.differs and self.query.species in {"", one.species_key}]

    @property
    def since(self) -> dt.date | None:
        """The day of the first plan: what was seen later counts."""
        return min((line.as_of for line in self.plan.lines), default=None)

    @property
    def rates(self) -> int:
        """Rates that the season's species have."""
        kinds = {(line.species_id, line.protocol, line.plan_id) for line in self.plan.lines}
        return len(kinds) * len(STAGES_OF_RATES)

    @property
    def choices(self) -> Mapping[str, list[tuple[str, str]]]:
        """Species and rates of which something was seen."""
        rates = {one.rate: one.label for one in self.every if one.part == "seed"} | {
            one.rate: one.label for one in self.every if one.part != "seed"
        }
        return {
            "species": sorted({(one.species_key, one.species_name) for one in self.every}, key=lambda one: one[1]),
            "rate": [(name, rates[name]) for name in STAGES_OF_RATES if name in rates],
        }


def read_next_year(session: Session, query: NextYearQuery, *, today: dt.date) -> NextYear:
    """The season asked for, else the running one, else the last that was sown; a fixed number of queries."""
    seasons = [season for season in seasons_planned(session) if season <= season_of(today)]
    season = query.season if query.season in seasons else seasons[-1] if seasons else None
    plan = read_lines(session, season if season is not None else season_of(today))
    until = min(today, season_span(season)[1]) if season is not None else today
    if not plan.lines:
        return NextYear(season, seasons, query, plan, until, [], [])
    since: dict[int, dt.date] = {}
    for line in plan.lines:
        since[line.species_id] = min(line.as_of, since.get(line.species_id, line.as_of))
    entries = effective_entries(session, list(since))
    errors = find_errors(plan.lines, read_seen(session, since, until), entries)
    changes = find_changes(plan.lines, entries, plan.costs)
    return NextYear(season, seasons, query, plan, until, errors, changes)
