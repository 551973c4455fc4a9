"""Where a need can be met: the known populations of the right origin, how far they lie and what they may give."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.models import CollectionNeed, Lot, NeedPart, PlanLine, Population, Site
from nursery.models.lots import Material
from nursery.models.places import IndigenousStatus
from nursery.planning.arrays import Bools, Ints
from nursery.planning.collecting import MAX_SHARE
from nursery.planning.origin.rule_table import level_of
from nursery.planning.origin.strategies import SOURCES
from nursery.planning.origin.words import NeedSource, Verdict
from nursery.services.crops import read_taken
from nursery.services.origin.gathering import Places, read_populations, read_sites
from nursery.services.origin.verdicts import judge_all
from nursery.services.planning.protocols import CUTTINGS_PER_MOTHER


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
    populations = _populations(session, {need.species_id for need in needs})
    if not needs or populations.empty:
        return found
    wanted = pd.DataFrame(
        [(n.id, n.species_id, n.grams is None) for n in needs], columns=["need", "species_id", "is_cuttings"]
    )
    pairs = wanted.merge(populations.assign(lot=np.arange(len(populations))), on="species_id")
    near = _nearest(pairs, populations, _sites(session, list(found)), session, since.date())
    here_too = near.groupby("need").size()
    elsewhere = pairs.groupby("need").size().sub(here_too, fill_value=0).to_dict()
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


def _populations(session: Session, species_ids: set[int]) -> pd.DataFrame:
    return read_populations(
        session, Population.species_id.in_(species_ids), Population.archived_at.is_(None)
    ).rename(columns={"population_code": "code", "population_name": "name"})


def _sites(session: Session, need_ids: list[int]) -> pd.DataFrame:
    return _frame(
        session,
        select(
            NeedPart.need_id.label("need"),
            PlanLine.site_name,
            PlanLine.site_id,
            CollectionNeed.region_code.label("asked_region"),
            CollectionNeed.basin.label("asked_basin"),
            CollectionNeed.source.label("asked_source"),
        )
        .select_from(NeedPart)
        .join(NeedPart.need)
        .join(NeedPart.line)
        .where(NeedPart.need_id.in_(need_ids))
        .distinct(),
    )


def _nearest(
    pairs: pd.DataFrame, populations: pd.DataFrame, sites: pd.DataFrame, session: Session, day: dt.date
) -> pd.DataFrame:
    """Each pair of need and population that the rules allow at a site of the need, with the nearest of these."""
    places = read_sites(session, day, Site.id.in_(sites["site_id"].unique().tolist()))
    row_of = {site_id: row for row, site_id in enumerate(places.table["site_id"].tolist())}
    sites = sites[sites["site_id"].isin(row_of)].reset_index(drop=True)
    asked = _as_asked(places, sites, [row_of[site_id] for site_id in sites["site_id"]])
    every = pairs.merge(sites.assign(site=np.arange(len(sites))), on="need")
    judgement = judge_all(populations, asked, every["lot"].to_numpy(), every["site"].to_numpy())
    every["distance_m"] = judgement.distance_m
    allowed = every[(judgement.verdict < level_of(Verdict.STOP)) & _of_source(every, judgement.source)]
    return allowed.sort_values(["distance_m", "site_name"]).drop_duplicates(["need", "population_id"])


def _of_source(pairs: pd.DataFrame, source: Ints) -> Bools:
    """Whether each pair is of the source its need asks for; one of the region takes what the rules allow."""
    names = np.array([name.value for name in SOURCES], object)
    asked = np.array([NeedSource(each).value for each in pairs["asked_source"]], object)
    return np.asarray((asked == NeedSource.REGION.value) | (names[source] == asked), np.bool_)


def _as_asked(places: Places, sites: pd.DataFrame, rows: list[int]) -> Places:
    """Sites of the needs, each lying where the plan knew it to lie.

    A need names the region as it holds for its species, so that the map need not be asked again.
    """
    found = places.take(np.array(rows, np.int64))
    unsaid = (sites["asked_basin"] == "").to_numpy() & (sites["asked_region"] != "").to_numpy()
    table = found.table.drop(columns="own_regions", errors="ignore").assign(
        region_code=sites["asked_region"].to_numpy(),
        basin=np.where(unsaid, found.table["basin"], sites["asked_basin"]),
    )
    return replace(found, table=table)


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
