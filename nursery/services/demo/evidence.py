"""Batches that the demo’s nursery counted over the past seasons; they correct one species’ establishment."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.services.demo.dating import collected_on
from nursery.services.demo.tables import rows
from nursery.services.evidence import record_evidence


def write_evidence(session: Session, actor: str, today: dt.date) -> None:
    """Every row of the table, dated on its day of the year, the newest at least a week back."""
    for row in rows("evidence"):
        values = {
            "part": row["part"],
            "rate": row["rate"],
            "successes": float(row["successes"]),
            "trials": float(row["trials"]),
            "happened_on": collected_on(row["day"], today, int(row["age"])),
            "source": row["source"],
        }
        record_evidence(session, actor, species=row["key"], values=values, today=today)
