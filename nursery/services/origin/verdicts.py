"""Verdicts on lots at sites: one pair with all its reasons, and many pairs for a matrix."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Decision, Lot, Site
from nursery.models.decisions import DecisionKind
from nursery.planning.arrays import Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.rule_table import LEVELS, RULES
from nursery.planning.origin.rules import Judgement, judge
from nursery.planning.origin.strategies import SOURCES, Terms
from nursery.planning.origin.words import Source, Verdict
from nursery.services.origin.gathering import Places, read_lots, read_sites
from nursery.services.origin.in_force import Followed
from nursery.services.origin.words import DECISION_LABELS, SOURCE_LABELS, TONES, VERDICT_LABELS, rule_label


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
    #: The region of the site as it holds for the lot's species, and whether that is one of the species' own.
    site_region: str
    is_own_region: bool


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
        return self.verdict is not Verdict.STOP or self.decision is DecisionKind.OVERRIDE

    @property
    def label(self) -> str:
        """The verdict in one word."""
        return str(VERDICT_LABELS[self.verdict])

    @property
    def tone(self) -> str:
        """The verdict's tone in the design."""
        return TONES[self.verdict]

    @property
    def because(self) -> str:
        """The rules behind a caution or a stop."""
        return ", ".join(map(rule_label, self.rules))

    @property
    def nearness(self) -> str:
        """How near the source is, in words."""
        return str(SOURCE_LABELS[self.source])

    @property
    def decided(self) -> str:
        """What a person decided, in words; empty where nobody did."""
        return str(DECISION_LABELS[self.decision]) if self.decision else ""

    @property
    def against(self) -> str:
        """What keeps the lot from the site, in words."""
        return self.because if self.verdict is Verdict.STOP else self.decided


def judge_pair(session: Session, *, lot_id: int, site_id: int, today: dt.date) -> PairVerdict:
    """The verdict on one lot at one site by the rules in force today."""
    lots = read_lots(session, Lot.id == lot_id)
    places = read_sites(session, today, Site.id == site_id)
    if lots.empty or places.table.empty:
        raise NotFound(_("There is no such lot or no such site."))
    judgement = judge_all(lots, places, np.zeros(1, np.int64), np.zeros(1, np.int64))
    own = places.table["own_regions"].iloc[0] if "own_regions" in places.table.columns else ()
    return PairVerdict(
        judgement.verdict_of(0),
        judgement.reasons(0, passes=True),
        places.followed(0),
        SOURCES[int(judgement.source[0])],
        float(judgement.distance_m[0]),
        places.terms[0],
        str(judgement.pairs.site_regions[0]),
        any(species_id == lots["species_id"].iloc[0] for species_id, _code in own),
    )


def judge_all(lots: pd.DataFrame, places: Places, lot: Ints, site: Ints) -> Judgement:
    """Verdicts on pairs of positions in the two tables."""
    return judge(lots, places.table, lot, site, places.rules, accepts=places.accepts)


def cells(session: Session, lots: pd.DataFrame, places: Places, lot: Ints, site: Ints) -> list[Cell]:
    """Verdicts on pairs of positions in the two tables, with what people decided about them; in one query."""
    judgement = judge_all(lots, places, lot, site)
    lot_ids, site_ids = lots["lot_id"].to_numpy()[lot].tolist(), places.table["site_id"].to_numpy()[site].tolist()
    decided = decided_pairs(session, lot_ids, site_ids)
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


def decided_pairs(
    session: Session, lot_ids: Iterable[int], site_ids: Iterable[int]
) -> dict[tuple[int, int], DecisionKind]:
    """The weightiest standing decision on each pair: forbid, then override, then pin."""
    rows = session.execute(
        select(Decision.lot_id, Decision.site_id, Decision.kind).where(
            Decision.withdrawn_at.is_(None),
            Decision.site_id.in_({int(each) for each in site_ids}),
        )
    )
    lots = {int(each) for each in lot_ids}
    weight = (DecisionKind.PIN, DecisionKind.OVERRIDE, DecisionKind.FORBID)
    ordered = sorted(rows, key=lambda row: weight.index(row[2]))
    return {(lot_id, site_id): kind for lot_id, site_id, kind in ordered if lot_id in lots}
