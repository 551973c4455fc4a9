"""What the demo's crews saw on their walks round the benches, what they did, and what is shut off."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy.orm import Session

from nursery.models import Batch, Bench, Nursery
from nursery.models.health import Finding
from nursery.services.demo.tables import rows, whole
from nursery.services.health.hygiene import check_hygiene
from nursery.services.health.hygiene_points import POINTS
from nursery.services.health.quarantine import quarantine
from nursery.services.health.scouting import close_scouting, create_scouting
from nursery.services.health.treating import create_treatment

#: Days back at which the hygiene list was gone through and the aphids were washed off.
_CHECKED, _TREATED = 9, 16
#: The one point that was not as it should be.
_OPEN_POINT = "drainage"


def write_health(
    session: Session, actor: str, batches: Sequence[Batch], nursery: Nursery, bench: Bench, today: dt.date
) -> None:
    """Notes of the table on the batches of their species, a treatment, and the list of hygiene."""
    by_species: dict[str, Batch] = {}
    for batch in batches:
        by_species.setdefault(batch.species.scientific_name, batch)
    for row in rows("scoutings"):
        if (found := by_species.get(row["species"])) is None:
            continue
        seen_on = today - dt.timedelta(days=int(row["ago"]))
        note = create_scouting(
            session, actor, today=today,
            values={
                "seen_on": seen_on, "finding": Finding(row["finding"]), "description": row["description"],
                "plants_affected": whole(row["affected"]), "batch_id": found.id,
            },
        )  # fmt: skip
        if row["outcome"]:
            close_scouting(session, actor, row=note, outcome=row["outcome"], today=today)
        if row["quarantine"]:
            quarantine(
                session, actor, batch_id=found.id, reason=row["quarantine"], since=seen_on, today=today,
                scouting_id=note.id,
            )  # fmt: skip
    _treat(session, actor, bench, today)
    check_hygiene(
        session, actor, nursery_id=nursery.id, checked_on=today - dt.timedelta(days=_CHECKED), today=today,
        answers={point.key: "no" if point.key == _OPEN_POINT else "yes" for point in POINTS},
        notes="Water stands under the north benches after rain (example)",
    )  # fmt: skip


def _treat(session: Session, actor: str, bench: Bench, today: dt.date) -> None:
    day = dt.datetime.combine(today - dt.timedelta(days=_TREATED), dt.time(8, 30), tzinfo=dt.UTC)
    create_treatment(
        session, actor, now=dt.datetime.combine(today, dt.time(12), tzinfo=dt.UTC),
        values={
            "treated_at": day, "reentry_at": day + dt.timedelta(hours=4), "product": "Soft soap (example)",
            "registration_number": "EX-0000", "active_substance": "potassium salts of fatty acids", "dose": 20.0,
            "dose_unit": "ml per l", "area_m2": 6.0, "water_l": 4.0, "against": "aphids", "applied_by": "Tomé",
            "certificate": "EX-117", "bench_id": bench.id,
        },
    )  # fmt: skip
