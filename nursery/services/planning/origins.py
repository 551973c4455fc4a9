"""What a plan must know of origins, read for its lots and lines in a fixed number of queries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from nursery.models import Decision, Draw, Lot, PlanLine, Site
from nursery.planning.plan_origin import BEFORE_COLUMNS, DECISION_COLUMNS, PlanOrigin
from nursery.services.origin.gathering import read_lots, read_sites
from nursery.services.origin.in_force import Followed
from nursery.services.planning.plans import current_plan
from nursery.services.planning.trial_lots import TrialLot, with_trial_origins


def read_origin(
    session: Session, *, today: dt.date, lot_ids: pd.Series, site_ids: pd.Series, trial: Sequence[TrialLot] = ()
) -> tuple[PlanOrigin, list[Followed]]:
    """Origins of a plan's lots and of its lines' sites, and the versions of the rules they follow on ``today``."""
    held = read_lots(session, Lot.archived_at.is_(None))
    lots = with_trial_origins(session, held, trial).set_index("lot_id", drop=False)
    sites = read_sites(session, today, Site.archived_at.is_(None))
    origin = PlanOrigin(
        lots=lots.reindex(lot_ids).reset_index(drop=True),
        sites=sites.table,
        site=np.asarray(pd.Index(sites.table["site_id"]).get_indexer(site_ids), np.int64),
        rules=sites.rules,
        terms=sites.terms,
        decisions=_decisions(session),
        before=_before(session),
    )
    return origin, list(sites.versions)


def _decisions(session: Session) -> pd.DataFrame:
    found = _frame(
        session,
        select(
            Decision.id.label("decision_id"), Decision.kind, Decision.lot_id, Decision.site_id,
            func.coalesce(Decision.target_id, 0).label("target_id"), Decision.plants,
        ).where(Decision.withdrawn_at.is_(None)).order_by(Decision.id),
    )  # fmt: skip
    found["kind"] = [kind.value for kind in found["kind"]]
    found["plants"] = pd.to_numeric(found["plants"]).astype(np.float64)
    return found[list(DECISION_COLUMNS)]


def _before(session: Session) -> pd.DataFrame:
    """What the plan in force draws: lots stay where they are unless there is a better reason to move them."""
    plan = current_plan(session)
    query = (
        select(PlanLine.target_id, Draw.lot_id, func.sum(Draw.seeds).label("seeds"))
        .join(Draw.line)
        .where(PlanLine.plan_id == (plan.id if plan else 0))
        .group_by(PlanLine.target_id, Draw.lot_id)
        .order_by(PlanLine.target_id, Draw.lot_id)
    )
    return _frame(session, query)[list(BEFORE_COLUMNS)].astype(np.int64)


def _frame(session: Session, query: Select[*tuple[Any, ...]]) -> pd.DataFrame:
    result = session.execute(query)
    return pd.DataFrame([tuple(row) for row in result], columns=list(result.keys()))
