"""The plan in force on one screen: what to do next, what to collect, what falls short, what will be ready."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from nursery.i18n import format_date, format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models.plans import LineStatus
from nursery.planning.origin.words import NeedPurpose, NeedSource
from nursery.services.need_words import SOURCE_LABELS
from nursery.services.season import Glance, Shortfall, SpeciesForecast, glance_at_season
from nursery.services.seasons import season_name
from nursery.services.work_dates import Task, read_tasks

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from nursery.models import CollectionNeed

#: Rows shown of each list; the pages show all.
ROWS = 4
WEEKS_AHEAD = 6


def season_summary(session: Session, today: dt.date) -> str:
    """The summary as plain text."""
    glance = glance_at_season(session, today=today)
    if glance is None:
        return _("There is no plan in force yet. Make one with “nursery plan --new”.")
    until = today + dt.timedelta(weeks=WEEKS_AHEAD)
    tasks = read_tasks(session, glance.plan, first=today, last=until)
    soon = [task for task in tasks if today <= task.starts_on <= until]
    parts = [_heading(glance)]
    parts.append([_("To do until %(day)s", day=format_date(until)), *_listed([_task(task) for task in soon])])
    # Seed without which plants are lacking goes before seed that only betters a mix; both stay in order of time.
    needs = sorted(glance.needs, key=lambda need: need.purpose is NeedPurpose.SHARES)
    parts.append([_("To collect"), *_listed([_need(need, today) for need in needs])])
    short = [_shortfall(shortfall) for shortfall in glance.shortfalls]
    parts.append([_("Falls short or comes too late"), *_listed(short, glance.falling_short)])
    if glance.season is not None:
        title = _("Ready plants expected for %(season)s", season=season_name(glance.season))
        parts.append([title, *_listed([_forecast(species) for species in glance.forecast])])
    return "\n\n".join("\n".join(part) for part in parts)


def _heading(glance: Glance) -> list[str]:
    count = glance.statuses
    return [
        _("Plan “%(label)s” of %(day)s", label=glance.plan.label, day=format_date(glance.plan.as_of)),
        "  "
        + _(
            "%(on_track)s lines on track, %(collect)s wait for collecting, %(short)s short of seed,"
            " %(late)s too late",
            on_track=count.get(LineStatus.ON_TRACK, 0),
            collect=count.get(LineStatus.COLLECT, 0),
            short=count.get(LineStatus.SHORT, 0),
            late=count.get(LineStatus.LATE, 0),
        ),
    ]


def _task(task: Task) -> str:
    line = task.line
    what = _(
        "%(day)s  %(task)s: %(species)s for %(site)s",
        day=format_date(task.starts_on, "dd MMM"),
        task=task.label,
        species=line.species_name,
        site=line.site_name,
    )
    if not task.fills_trays or not line.trays:
        return what
    return what + ", " + ngettext("%(num)s tray", "%(num)s trays", line.trays)


def _need(need: CollectionNeed, today: dt.date) -> str:
    place = need.region_code or need.basin
    if need.source is not NeedSource.REGION:
        place = f"{place} ({SOURCE_LABELS[need.source]})"
    window = _("until %(day)s", day=format_date(need.closes_on, "dd MMM y"))
    if need.opens_on > today:
        window = f"{format_date(need.opens_on, 'dd MMM')} – {format_date(need.closes_on, 'dd MMM y')}"
    if need.grams is None:
        return _(
            "%(window)s  %(species)s, %(place)s: %(pieces)s cuttings",
            window=window,
            species=need.species_name,
            place=place,
            pieces=format_number(need.seeds),
        )
    return _(
        "%(window)s  %(species)s, %(place)s: %(grams)s g of clean seed",
        window=window,
        species=need.species_name,
        place=place,
        grams=format_number(need.grams, 1 if need.grams < 100 else 0),
    )


def _shortfall(shortfall: Shortfall) -> str:
    line = shortfall.line
    return _(
        "%(season)s  %(species)s for %(site)s: %(missing)s of %(wanted)s plants missing",
        season=season_name(line.season),
        species=line.species_name,
        site=line.site_name,
        missing=format_number(line.shortfall),
        wanted=format_number(line.plants_to_plant),
    )


def _forecast(species: SpeciesForecast) -> str:
    return _(
        "%(species)s: %(expected)s (%(low)s to %(high)s), %(needed)s needed",
        species=species.species_name,
        expected=format_number(round(species.expected)),
        low=format_number(species.low),
        high=format_number(species.high),
        needed=format_number(species.needed),
    )


def _listed(texts: Sequence[str], count: int | None = None) -> Iterator[str]:
    if not texts:
        yield "  " + _("Nothing.")
    for text in texts[:ROWS]:
        yield f"  {text}"
    more = (len(texts) if count is None else count) - ROWS
    if more > 0:
        yield "  " + ngettext("and %(num)s more", "and %(num)s more", more)
