"""What a plan must know of origins, read for its lots and lines in a fixed number of queries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import numpy as np
from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from nursery.models import Decision, Lot, PlanLine, Site
from nursery.planning.heavy import pd
from nursery.planning.plan_origin import BEFORE_COLUMNS, DECISION_COLUMNS, MARK_COLUMNS, PlanOrigin
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
        **_in_force(session),
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


def _in_force(session: Session) -> dict[str, pd.DataFrame]:
    """What the plan in force shares out: lots stay where they are unless there is a better reason to move them."""
    plan = current_plan(session)
    rows = session.execute(
        select(PlanLine.target_id, PlanLine.basis)
        .where(PlanLine.plan_id == (plan.id if plan else 0))
        .order_by(PlanLine.target_id)
    )
    # Plans of earlier versions say nothing of it.
    kept = [(target_id, basis["sharing"]) for target_id, basis in rows if "sharing" in basis]
    marks = pd.DataFrame([(target_id, each["mark"]) for target_id, each in kept], columns=list(MARK_COLUMNS))
    return {
        "before": _plants(kept, "shared_out"),
        "before_that": _plants(kept, "near"),
        "marks": marks.astype({"target_id": np.int64, "mark": object}),
    }


def _plants(kept: list[tuple[int, dict[str, Any]]], name: str) -> pd.DataFrame:
    rows = [(target_id, int(lot_id), plants) for target_id, each in kept for lot_id, plants in each[name].items()]
    types = dict(zip(BEFORE_COLUMNS, (np.int64, np.int64, np.float64), strict=True))
    return pd.DataFrame(rows, columns=list(BEFORE_COLUMNS)).astype(types)


def _frame(session: Session, query: Select[*tuple[Any, ...]]) -> pd.DataFrame:
    result = session.execute(query)
    return pd.DataFrame([tuple(row) for row in result], columns=list(result.keys()))
