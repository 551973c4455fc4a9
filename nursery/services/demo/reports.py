"""The demo's words of its own in reports, its log of deviations, and the report on the season that is over."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Site
from nursery.services.demo.dating import finished_day
from nursery.services.demo.tables import rows
from nursery.services.deviations import create_deviation
from nursery.services.preferences import change_preferences
from nursery.services.season_report import gather_figures, keep_report


def write_reports(session: Session, actor: str, today: dt.date) -> None:
    """Called last: the report tells what everything before has written."""
    season = finished_day(today).year
    sites = dict(session.execute(select(Site.code, Site.id)).all())
    change_preferences(session, actor, values={row["field"]: row["text"] for row in rows("report_words")})
    for row in rows("deviations"):
        values = {
            "season": season, "site_id": sites.get(row["site"]), "what": row["what"], "why": row["why"],
            "happened_on": dt.date.fromisoformat(f"{season}-{row['day']}"), "action": row["action"], "notes": "",
        }  # fmt: skip
        create_deviation(session, actor, values=values, today=today)
    keep_report(session, actor, figures=gather_figures(session, season=season, today=today), language="en")
