"""What a person decided about a lot shows on every report that draws it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import format_date
from nursery.models import Decision, Draw, PlanLine, Site
from tests.databases import Kept

REASON = "The only wild pears of these hills"


@pytest.fixture
def database(demo_file: Kept, tmp_path: Path) -> str:
    return demo_file.copy(tmp_path)


def test_the_override_is_told_by_every_report(client: Any, session: Session) -> None:
    draw = session.scalars(select(Draw).where(Draw.decision_id == pear(session).id)).one()
    line = session.get_one(PlanLine, draw.line_id)
    week = line.pretreat_on.isocalendar()
    told = f"Allowed despite a stop by Ana Seabra on {format_date(pear(session).at.date())}: {REASON}"
    reports = (
        f"/plans/lines/{line.id}",
        "/plans/current.csv",
        f"/trace/targets/{line.target_id}",
        f"/trace/targets/{line.target_id}.csv",
        f"/trace/lots/{draw.lot_id}",
        f"/trace/lots/{draw.lot_id}/draws.csv",
        f"/sowing?week={week.year}-W{week.week:02}",
        f"/sowing.csv?week={week.year}-W{week.week:02}",
    )
    assert [report for report in reports if told not in client.get(report).text] == []
    lines = client.get("/api/v1/plan").json["lines"]
    decided = [lot["decision"] for each in lines for lot in each["lots"] if lot["decision"]]
    # Programs learn that it was allowed and when; who did so and why stays with people.
    assert [(one["kind"], one["on"]) for one in decided] == [("override", str(pear(session).at.date()))]


def pear(session: Session) -> Decision:
    """The override of the running season; another let ash through a winter earlier."""
    return session.scalars(select(Decision).join(Site).where(Site.code == "S-005")).one()
