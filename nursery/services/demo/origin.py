"""How some of the demo's sites mix their sources, and what was decided against the rules."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from nursery.models import Lot, Site
from nursery.models.decisions import DecisionKind
from nursery.services.demo.tables import rows
from nursery.services.origin.decisions import decide
from nursery.services.origin.strategies import set_strategy

#: The hour at which decisions were written down.
_AT = dt.time(9, tzinfo=dt.UTC)


def write_origin(
    session: Session, actor: str, lots: Sequence[Lot], sites: Mapping[str, Site], today: dt.date
) -> None:
    """Strategies with their usual terms, and decisions about the newest lot of a population that is in use."""
    for row in rows("strategies"):
        site = sites[row["site"]]
        site.native_only = bool(row["native_only"])
        if row["kind"]:
            set_strategy(session, actor, site=site, values={"kind": row["kind"]})
    session.flush()
    write_decisions(session, actor, "decisions", lots, sites, today)


def write_decisions(
    session: Session, actor: str, table: str, lots: Sequence[Lot], sites: Mapping[str, Site], today: dt.date
) -> None:
    """What was decided on a day about the newest lot of a population that was in use by then."""
    for row in rows(table):
        own = [
            lot
            for lot in lots
            if lot.population.code == row["population"] and lot.archived_at is None and not lot.is_held
        ]
        if own:
            lot = max(own, key=lambda one: (one.collected_on, one.code))
            decision = decide(
                session, actor, kind=DecisionKind(row["kind"]), lot=lot, site=sites[row["site"]],
                reason=row["reason"], today=today,
            )  # fmt: skip
            decision.at = dt.datetime.combine(today, _AT)
    session.flush()
