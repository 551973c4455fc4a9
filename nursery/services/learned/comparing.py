"""What learned rates change in the plan: the same targets and lots reckoned with and without them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy.orm import Session

from nursery.planning.heavy import pd
from nursery.planning.plan import make_plan
from nursery.services.planning.gather import Gathered, gather


@dataclass(frozen=True, slots=True)
class Numbers:
    """What the plan says of one line."""

    cells: int
    trays: int
    seeds: int
    grams: float | None
    expected: float
    p10: int
    p90: int
    probability: float
    status: str


@dataclass(frozen=True, slots=True)
class LineChange:
    """One target under the catalogue's rates and under the learned ones."""

    site: str
    season: int
    wanted: int
    ready_plants: int
    before: Numbers
    after: Numbers

    @property
    def differs(self) -> bool:
        """Whether anything a grower would do is another."""
        return self.before != self.after


def compare_plan(session: Session, species_id: int, *, today: dt.date) -> Sequence[LineChange]:
    """All lines of the species, reckoned twice; nothing is kept. A fixed number of queries."""
    before, after = (
        _lines(gather(session, today=today, learned=learned), species_id) for learned in (False, True)
    )
    return [
        LineChange(
            site=str(new["site_name"]),
            season=int(new["season"]),
            wanted=int(new["wanted"]),
            ready_plants=int(new["ready_plants"]),
            before=_numbers(old),
            after=_numbers(new),
        )
        for old, new in zip(before, after, strict=True)
    ]


def _lines(gathered: Gathered, species_id: int) -> list[dict[str, Any]]:
    which = np.flatnonzero(gathered.inputs.lines["species_id"].to_numpy() == species_id)
    if not len(which):
        return []
    # Lots serve their own species only, so its lines alone give the numbers they have in the whole plan.
    inputs = gathered.inputs.only(which)
    told = pd.concat([inputs.lines[["season", "wanted"]], make_plan(inputs).lines], axis=1)
    told["site_name"] = gathered.lines["site_name"].to_numpy()[which]
    return [{str(name): value for name, value in row.items()} for row in told.to_dict("records")]


def _numbers(row: dict[str, Any]) -> Numbers:
    return Numbers(
        cells=int(row["cells_sown"]),
        trays=int(row["trays"]),
        seeds=int(row["seeds"]),
        grams=None if np.isnan(row["grams"]) else round(float(row["grams"]), 3),
        expected=round(float(row["expected"]), 1),
        p10=int(row["p10"]),
        p90=int(row["p90"]),
        probability=round(float(row["probability"]), 3),
        status=str(row["status"]),
    )
