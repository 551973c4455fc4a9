"""Where a need can be met: the known populations of the right origin, how far they lie and what they may give."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.models import CollectionNeed, Lot
from nursery.models.lots import Material
from nursery.models.places import IndigenousStatus
from nursery.planning.collecting import MAX_SHARE
from nursery.planning.heavy import pd
from nursery.services.crops import read_taken
from nursery.services.planning.protocols import CUTTINGS_PER_MOTHER
from nursery.services.qualifying import read_qualifying


@dataclass(frozen=True, slots=True)
class Stand:
    """A population from which a need may be met."""

    population_id: int
    code: str
    name: str
    latitude: float
    longitude: float
    elevation_m: float | None
    status: IndigenousStatus
    fruiting_plants: int | None
    #: The nearest of the sites that wait for the seed.
    nearest_site: str
    distance_m: float
    last_collected: dt.date | None
    lots: int
    #: Lots recorded since the plan was made, which it cannot know of.
    new_lots: int
    #: kg of fruit (or cuttings) its fruiting plants may still give at ``MAX_SHARE`` of the crop; None uncounted.
    most: float | None
    #: What lots took of the same crop already; ``most`` is what that leaves.
    taken: float = 0.0


@dataclass(frozen=True, slots=True)
class Stands:
    """The populations of a need's origin, nearest first, and how many of the species grow elsewhere."""

    here: list[Stand] = field(default_factory=list)
    elsewhere: int = 0


def read_stands(
    session: Session, needs: Sequence[CollectionNeed], entries: Mapping[int, SpeciesEntry], *, since: dt.datetime
) -> dict[int, Stands]:
    """Stands of each need by its id, in a fixed number of queries.

    ``since`` is when the plan was made; stands are those that the rules of origin in force on that day allow.
    """
    found = {need.id: Stands() for need in needs}
    near, elsewhere = read_qualifying(session, needs, since.date())
    if near.empty and not elsewhere:
        return found
    near = near.merge(
        _lots(session, near["population_id"], since), how="left", on=["population_id", "is_cuttings"]
    )
    species = {need.id: need.species_id for need in needs}
    taken = read_taken(session, needs, near["population_id"].tolist())
    here: dict[int, list[Stand]] = {}
    for row in near.sort_values(["need", "distance_m", "code"]).to_dict("records"):
        here.setdefault(row["need"], []).append(
            _stand(row, entries.get(species[row["need"]]), taken.get((row["need"], row["population_id"]), 0.0))
        )
    return {need: Stands(here.get(need, []), int(elsewhere.get(need, 0))) for need in found}


def _stand(row: dict[Any, Any], entry: SpeciesEntry | None, taken: float) -> Stand:
    fruiting = None if pd.isna(row["fruiting_plants"]) else int(row["fruiting_plants"])
    each = None
    if entry is not None:
        each = (
            entry.collecting.cuttings_per_mother or CUTTINGS_PER_MOTHER
            if row["is_cuttings"]
            else entry.seed.fruit_kg_per_mother * MAX_SHARE
        )
    return Stand(
        population_id=row["population_id"],
        code=row["code"],
        name=row["name"],
        latitude=row["latitude"],
        longitude=row["longitude"],
        elevation_m=None if pd.isna(row["elevation_m"]) else row["elevation_m"],
        status=IndigenousStatus(row["status"]),
        fruiting_plants=fruiting,
        nearest_site=row["site_name"],
        distance_m=row["distance_m"],
        last_collected=row["last"] if isinstance(row["last"], dt.date) else None,
        lots=0 if pd.isna(row["lots"]) else int(row["lots"]),
        new_lots=0 if pd.isna(row["new"]) else int(row["new"]),
        most=None if fruiting is None or each is None else max(0.0, fruiting * each - taken),
        taken=taken,
    )


def _lots(session: Session, population_ids: pd.Series, since: dt.datetime) -> pd.DataFrame:
    rows = _frame(
        session,
        select(
            Lot.population_id,
            Lot.material,
            func.max(Lot.collected_on).label("last"),
            func.count().label("lots"),
            func.sum(case((Lot.created_at > since, 1), else_=0)).label("new"),
        )
        .where(Lot.population_id.in_(population_ids.unique().tolist()), Lot.archived_at.is_(None))
        .group_by(Lot.population_id, Lot.material),
    )
    rows["is_cuttings"] = (rows.pop("material") == Material.CUTTINGS).astype(bool)
    return rows


def _frame(session: Session, query: Any) -> pd.DataFrame:
    result = session.execute(query)
    return pd.DataFrame([tuple(row) for row in result], columns=list(result.keys()))
