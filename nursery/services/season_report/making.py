"""A season's report made, checked and kept."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session, undefer

from nursery.errors import Invalid, NotFound
from nursery.i18n import LOCALES
from nursery.i18n import gettext as _
from nursery.models import Planting, SeasonReport, Target
from nursery.services import auditing
from nursery.services.limits import SEASON
from nursery.services.season_report.figures import digest_of
from nursery.services.season_report.scope import last_season
from nursery.services.seasons import season_name, season_of


@dataclass(frozen=True, slots=True)
class Choice:
    """A season that can be reported on, with what is on record of it."""

    season: int
    targets: int
    plantings: int


def choices(session: Session, *, today: dt.date) -> list[Choice]:
    """Seasons with targets or plantings that have begun, the newest first; the last one over is always there."""
    found: dict[int, list[int]] = {last_season(today): [0, 0]}
    targets = select(Target.season, func.count()).where(Target.archived_at.is_(None)).group_by(Target.season)
    for season, count in session.execute(targets):
        found.setdefault(season, [0, 0])[0] += count
    days = (
        select(Planting.planted_on, func.count())
        .where(Planting.archived_at.is_(None))
        .group_by(Planting.planted_on)
    )
    for day, count in session.execute(days):
        found.setdefault(season_of(day), [0, 0])[1] += count
    begun = season_of(today)
    return [Choice(season, *found[season]) for season in sorted(found, reverse=True) if season <= begun]


def check_choice(*, season: int, language: str, today: dt.date) -> None:
    """Refuse a season that has not begun, or a language there is not."""
    refused = {}
    if not SEASON.holds(season) or season > season_of(today):
        refused["season"] = _(
            "The season %(season)s has not begun. Choose one that has.", season=season_name(season)
        )
    if language not in LOCALES:
        refused["language"] = _("There is no such language. Choose one from the list.")
    if refused:
        raise Invalid(refused)


def keep_report(session: Session, actor: str, *, figures: dict[str, Any], language: str) -> SeasonReport:
    """Keep a report; its figures are never changed afterwards."""
    row = SeasonReport(
        season=figures["season"],
        as_of=dt.date.fromisoformat(figures["as_of"]),
        language=language,
        figures=figures,
        digest=digest_of(figures),
        person=actor,
    )
    session.add(row)
    auditing.record(session, actor, action="made", row=row, details={"digest": [None, row.digest]})
    return row


def read_seasons(session: Session) -> list[int]:
    """Seasons that have a report, the newest first."""
    return list(session.scalars(select(SeasonReport.season).distinct().order_by(SeasonReport.season.desc())))


def read_report(session: Session, report_id: int) -> SeasonReport:
    """A report with its figures, put aside or not."""
    row = session.get(SeasonReport, report_id, options=[undefer(SeasonReport.figures)])
    if row is None:
        raise NotFound(_("There is no such report."))
    return row


def put_aside(session: Session, actor: str, *, row: SeasonReport, now: Callable[[], dt.datetime]) -> None:
    """Take a report out of the list, or back into it; its figures stay."""
    row.archived_at = None if row.archived_at else now()
    auditing.record(session, actor, action="archived" if row.archived_at else "restored", row=row)
