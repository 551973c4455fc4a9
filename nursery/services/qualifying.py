"""Which populations qualify for a need: those that the rules of origin let serve a site of it, by its source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Draw, Lot, NeedPart, PlanLine, Population, Site
from nursery.planning.arrays import Bools, Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.rule_table import level_of
from nursery.planning.origin.strategies import SOURCES
from nursery.planning.origin.words import NeedSource, Verdict
from nursery.services.need_words import other_populations
from nursery.services.origin.gathering import Places, read_populations, read_sites
from nursery.services.origin.verdicts import judge_all


def read_qualifying(
    session: Session, needs: Sequence[CollectionNeed], day: dt.date
) -> tuple[pd.DataFrame, dict[int, int]]:
    """Pairs of need and population, and how many other populations of the species each need has, by its id.

    The pairs have the columns of the population, ``need, is_cuttings``, and of the nearest of the need's sites
    ``site_name, distance_m``. In a fixed number of queries. The verdict is that of `rules.judge`, as in a plan, by
    the rules in force on ``day``; a need of a source takes populations of that source alone.
    """
    populations = _populations(session, {need.species_id for need in needs})
    if not needs or populations.empty:
        return pd.DataFrame(), {}
    wanted = pd.DataFrame(
        [(n.id, n.species_id, n.grams is None) for n in needs], columns=["need", "species_id", "is_cuttings"]
    )
    pairs = wanted.merge(populations.assign(lot=np.arange(len(populations))), on="species_id")
    near = _nearest(pairs, populations, _sites(session, [need.id for need in needs]), session, day)
    near = _not_drawn(session, needs, near)
    here_too = near.groupby("need").size()
    elsewhere = pairs.groupby("need").size().sub(here_too, fill_value=0)
    return near, dict(zip(elsewhere.index.tolist(), elsewhere.astype(int).tolist(), strict=True))


def _not_drawn(session: Session, needs: Sequence[CollectionNeed], near: pd.DataFrame) -> pd.DataFrame:
    """Without the populations that lines draw on already, where others are asked for."""
    asking = [need.id for need in needs if other_populations(need)]
    if not asking:
        return near
    drawn = session.execute(
        select(NeedPart.need_id, Lot.population_id)
        .join(Draw, Draw.line_id == NeedPart.line_id)
        .join(Lot, Draw.lot_id == Lot.id)
        .where(NeedPart.need_id.in_(asking))
        .distinct()
    )
    known = {tuple(row) for row in drawn}
    keep = [pair not in known for pair in zip(near["need"], near["population_id"], strict=True)]
    return near[keep]


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


def _frame(session: Session, query: Any) -> pd.DataFrame:
    result = session.execute(query)
    return pd.DataFrame([tuple(row) for row in result], columns=list(result.keys()))
