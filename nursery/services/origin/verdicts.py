"""Verdicts on lots at sites: one pair with all its reasons, and many pairs for a matrix."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Decision, Lot, Site
from nursery.models.decisions import DecisionKind
from nursery.planning.arrays import Ints
from nursery.planning.origin.rule_table import LEVELS, RULES
from nursery.planning.origin.rules import Judgement, judge
from nursery.planning.origin.strategies import SOURCES, Terms
from nursery.planning.origin.words import Source, Verdict
from nursery.services.origin.gathering import Places, read_lots, read_sites
from nursery.services.origin.in_force import Followed


@dataclass(frozen=True)
class PairVerdict:
    """One lot at one site: what the rules say, by which version, and why."""

    verdict: Verdict
    #: Of every rule that has something to say, worst first.
    reasons: Sequence[Mapping[str, Any]]
    followed: Followed
    source: Source
    distance_m: float
    terms: Terms | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One lot at one site in a table of many."""

    lot_id: int
    site_id: int
    verdict: Verdict
    #: Rules that give the verdict; none where it is a pass.
    rules: tuple[str, ...]
    source: Source
    distance_m: float
    decision: DecisionKind | None = None

    @property
    def allowed(self) -> bool:
        """Whether the lot may be planted there, by the rules and what people decided."""
        if self.decision is DecisionKind.FORBID:
            return False
        return self.verdict is not Verdict.STOP or self.decision in {DecisionKind.OVERRIDE, DecisionKind.PIN}


def judge_pair(session: Session, *, lot_id: int, site_id: int, today: dt.date) -> PairVerdict:
    """The verdict on one lot at one site by the rules in force today."""
    lots = read_lots(session, Lot.id == lot_id)
    places = read_sites(session, today, Site.id == site_id)
    if lots.empty or places.table.empty:
        raise NotFound(_("There is no such lot or no such site."))
    judgement = judge_all(lots, places, np.zeros(1, np.int64), np.zeros(1, np.int64))
    return PairVerdict(
        judgement.verdict_of(0),
        judgement.reasons(0, passes=True),
        places.followed(0),
        SOURCES[int(judgement.source[0])],
        float(judgement.distance_m[0]),
        places.terms[0],
    )


def judge_all(lots: pd.DataFrame, places: Places, lot: Ints, site: Ints) -> Judgement:
    """Verdicts on pairs of positions in the two tables."""
    return judge(lots, places.table, lot, site, places.rules, accepts=places.accepts)


def cells(session: Session, lots: pd.DataFrame, places: Places, lot: Ints, site: Ints) -> list[Cell]:
    """Verdicts on pairs of positions in the two tables, with what people decided about them; in one query."""
    judgement = judge_all(lots, places, lot, site)
    lot_ids, site_ids = lots["lot_id"].to_numpy()[lot].tolist(), places.table["site_id"].to_numpy()[site].tolist()
    decided = _decided(session, lot_ids, site_ids)
    worst = judgement.findings == np.maximum(judgement.verdict, 1)[:, None]
    return [
        Cell(
            lot_id, site_id, LEVELS[level], tuple(RULES[column].value for column in np.flatnonzero(row)),
            SOURCES[source], metres, decided.get((lot_id, site_id)),
        )
        for lot_id, site_id, level, row, source, metres in zip(
            lot_ids, site_ids, judgement.verdict.tolist(), worst, judgement.source.tolist(),
            judgement.distance_m.tolist(), strict=True,
        )
    ]  # fmt: skip


def _decided(
    session: Session, lot_ids: Sequence[int], site_ids: Sequence[int]
) -> dict[tuple[int, int], DecisionKind]:
    """The weightiest standing decision on each pair: forbid, then override, then pin."""
    rows = session.execute(
        select(Decision.lot_id, Decision.site_id, Decision.kind).where(
            Decision.withdrawn_at.is_(None),
            Decision.lot_id.in_(set(lot_ids)),
            Decision.site_id.in_(set(site_ids)),
        )
    )
    weight = (DecisionKind.PIN, DecisionKind.OVERRIDE, DecisionKind.FORBID)
    ordered = sorted(rows, key=lambda row: weight.index(row[2]))
    return {(lot_id, site_id): kind for lot_id, site_id, kind in ordered}
