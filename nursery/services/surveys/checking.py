"""What a survey must be before it is written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.models import Survey, SurveyPlot
from nursery.planning.field.words import LAST_YEAR, Cause
from nursery.services import limits
from nursery.services.seasons import season_name, season_span
from nursery.services.surveys.planted import Planted
from nursery.services.surveys.words import year_name

#: Nobody counts more plants in a plot.
PLANTS = limits.Bounds(0, 100_000)
SEASON = limits.Years(1900, 2200)
YEAR = limits.Bounds(1, LAST_YEAR)
MOST_NOTES = 4000


@dataclass(frozen=True, slots=True)
class Counted:
    """Plants of one species in a plot, as somebody counted them."""

    species_id: int | None
    #: First planted in the plot, replacements left out.
    planted: int | None
    alive: int | None
    causes: Mapping[str, int] = field(default_factory=dict)
    replacements_alive: int = 0
    #: Where it stands among the rows of a form, for refusals.
    at: int = 0

    @property
    def is_blank(self) -> bool:
        """Whether nothing was counted: the species does not stand in the plot."""
        return self.planted is None and self.alive is None and not self.replacements_alive and not self.causes


def check_survey(
    session: Session, plot: SurveyPlot, values: Mapping[str, Any], counts: Sequence[Counted],
    planted: Mapping[int, Planted], today: dt.date,
) -> None:  # fmt: skip
    """Refuse what cannot be, all at once; keys are fields, or ``counts-ROW-field`` for a species' row."""
    refused = _head(plot, values, planted, today)
    if not refused:
        refused |= _twin(session, plot, values)
    if not counts:
        refused[""] = _("Count at least one species: how many were planted in the plot, and how many live.")
    seen: dict[int, int] = {}
    for count in counts:
        own = _count(count)
        if count.species_id is None:
            own["species_id"] = _("Say which species.")
        elif count.species_id in seen:
            own["species_id"] = _("This species is counted twice. Put both into one.")
        else:
            seen[count.species_id] = count.at
        refused |= {f"counts-{count.at}-{name}": told for name, told in own.items()}
    if refused:
        raise Invalid(refused)


def _head(
    plot: SurveyPlot, values: Mapping[str, Any], planted: Mapping[int, Planted], today: dt.date
) -> dict[str, str]:
    season, year, day = values["season"], values["year"], values["surveyed_on"]
    refused = {
        name: told
        for name, told in (("season", SEASON.refusal(season)), ("year", YEAR.refusal(year)))
        if told is not None
    }
    if day > today:
        refused["surveyed_on"] = _("%(day)s is still to come. Correct the date.", day=format_date(day))
    elif "season" not in refused:
        begins = season_span(season, southern=plot.site.latitude < 0)[0]
        first = min((one.first_on for one in planted.values()), default=begins)
        if day < first:
            refused["surveyed_on"] = _(
                "%(day)s is before the planting of %(season)s, which began on %(first)s. Correct the day or the"
                " season.",
                day=format_date(day),
                season=season_name(season),
                first=format_date(first),
            )
    if len(values.get("notes") or "") > MOST_NOTES:
        refused["notes"] = _(
            "This has %(long)s characters; at most %(most)s fit. Shorten it.",
            long=format_number(len(values["notes"])),
            most=format_number(MOST_NOTES),
        )
    return refused


def _twin(session: Session, plot: SurveyPlot, values: Mapping[str, Any]) -> dict[str, str]:
    """A plot is counted once for a season and year; what was wrong is withdrawn first."""
    day = session.scalar(
        select(Survey.surveyed_on).where(
            Survey.plot_id == plot.id,
            Survey.season == values["season"],
            Survey.year == values["year"],
            Survey.withdrawn_at.is_(None),
        )
    )
    if day is None:
        return {}
    told = _(
        "Plot %(plot)s was counted for %(year)s of %(season)s on %(day)s. Withdraw that survey first if it was"
        " wrong, or choose another year.",
        plot=plot.name,
        year=year_name(values["year"]).lower(),
        season=season_name(values["season"]),
        day=format_date(day),
    )
    return {"year": told}


def _count(count: Counted) -> dict[str, str]:
    numbers = {"planted": count.planted, "alive": count.alive, "replacements_alive": count.replacements_alive}
    numbers |= {f"cause_{Cause(name).name.lower()}": plants for name, plants in count.causes.items()}
    refused = {
        name: told for name, plants in numbers.items() if plants is not None and (told := PLANTS.refusal(plants))
    }
    if count.planted is None or count.planted < 1:
        refused["planted"] = _("Say how many were planted first in this plot, also where all of them died.")
    if count.alive is None:
        refused["alive"] = _("Say how many live; 0 where none do.")
    if refused or count.planted is None or count.alive is None:
        return refused
    if count.alive > count.planted:
        refused["alive"] = _(
            "%(alive)s alive of %(planted)s planted cannot be. Replacements that live are counted apart, below.",
            alive=format_number(count.alive),
            planted=format_number(count.planted),
        )
    elif (explained := sum(count.causes.values())) > (dead := count.planted - count.alive):
        refused["causes"] = _(
            "Causes are given for %(told)s plants and %(dead)s died. Correct the causes, or the plants alive.",
            told=format_number(explained),
            dead=format_number(dead),
        )
    return refused
