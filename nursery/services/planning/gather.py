"""From records to the inputs of a plan, in a fixed number of queries whatever the number of rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import numpy as np
from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from nursery.models import (
    Container,
    Lot,
    Nursery,
    PlantMovement,
    Preferences,
    Site,
    Species,
    StoragePlace,
    Target,
)
from nursery.planning.heavy import pd
from nursery.planning.plan_inputs import LINE_COLUMNS, LOT_COLUMNS, Costs, PlanInputs
from nursery.planning.rounding import whole
from nursery.services.catalogue import effective_entries
from nursery.services.lot_figures import lot_figures
from nursery.services.origin.in_force import Followed
from nursery.services.planning.changes import Changes
from nursery.services.planning.growing import Growing, read_growing
from nursery.services.planning.origins import read_origin
from nursery.services.planning.protocols import ProtocolRows, protocol_rows
from nursery.services.planning.trial_lots import TrialLot, with_trial_lots

#: Mean temperature taken for every month of a nursery that has not entered its own, °C; common practice, no
#: source. It matters only for phases counted in degree-days, and the plan says so.
UNKNOWN_NORMAL_C = 15.0


class Gathered:
    """Inputs for the calculation, and the words that go with its rows."""

    def __init__(
        self, inputs: PlanInputs, lines: pd.DataFrame, lots: pd.DataFrame, protocols: ProtocolRows,
        versions: Sequence[Followed], growing: Growing,
    ) -> None:  # fmt: skip
        self.inputs = inputs
        #: Names and codes of each line: ``site_name, species_name, container_id, container_name, nursery_name``.
        self.lines = lines
        #: ``lot_code`` of each lot.
        self.lots = lots
        self.protocols = protocols
        #: Versions of the rules of origin, in the order of ``inputs.origin.rules``.
        self.versions = versions
        #: What grows for each line already.
        self.growing = growing


def gather(
    session: Session, *, today: dt.date, learned: bool = True, species_id: int | None = None,
    trial: Sequence[TrialLot] = (), changes: Changes | None = None,
) -> Gathered:  # fmt: skip
    """Read all open targets, lots and figures that a plan of ``today`` rests on.

    A target whose planting window is over is left out once plants have gone to it: what it missed is told by the
    season's report, and replacements are targets of their own. One to which nothing went stays, and is late.

    Rates are the learned ones unless ``learned`` is false. ``species_id`` leaves all other species out: lots and
    lines of two species never meet. ``trial`` adds seed that is not there, ``changes`` takes
    some targets otherwise than they are on record.
    """
    preferences = session.get(Preferences, 1) or Preferences(
        assurance=0.8, spare_trays=0, cost_seed=0.02, cost_thin=0.02, cost_cell=0.15
    )
    targets_query, lots_query = _targets_query(), _lots_query()
    if species_id is not None:
        targets_query = targets_query.where(Target.species_id == species_id)
        lots_query = lots_query.where(Lot.species_id == species_id)
    targets = _without_served(_frame(session, targets_query), today)
    if changes is not None:
        targets = changes.made(targets)
    lots = with_trial_lots(session, _frame(session, lots_query), trial)
    containers = _frame(session, _containers_query())
    entries = effective_entries(session, set(targets["species_id"]) | set(lots["species_id"]), learned=learned)
    # A species that has left the catalogue has no figures to reckon with.
    targets, lots = (
        table[table["species_id"].isin(list(entries))].reset_index(drop=True) for table in (targets, lots)
    )
    protocols = protocol_rows({key: entries[key] for key in dict.fromkeys(targets["species_id"])})
    targets["protocol_row"] = protocols.rows_of(targets["species_id"], targets["protocol"])
    targets = _with_containers(targets, containers, protocols)
    lines = _lines(targets, preferences)
    normals = _normals(targets)
    origin, versions = read_origin(
        session, today=today, lot_ids=lots["lot_id"], site_ids=lines["site_id"], trial=trial
    )
    growing = read_growing(session, targets["target_id"], today=today, species_id=species_id, learned=learned)
    inputs = PlanInputs(
        today=np.datetime64(today, "D"),
        lines=lines[list(LINE_COLUMNS)],
        lots=_with_losses(lot_figures(lots, entries))[list(LOT_COLUMNS)],
        protocols=protocols.planning,
        normals=normals,
        costs=Costs(preferences.cost_seed, preferences.cost_thin, preferences.cost_cell),
        spare_trays=preferences.spare_trays,
        origin=origin,
        growing=growing.planning,
    )
    return Gathered(inputs, targets, lots, protocols, versions, growing)


def _with_losses(lots: pd.DataFrame) -> pd.DataFrame:
    return lots.assign(is_lost=(lots["harm"] != "").to_numpy(np.bool_))


def _frame(session: Session, query: Select[*tuple[Any, ...]]) -> pd.DataFrame:
    result = session.execute(query)
    return pd.DataFrame([tuple(row) for row in result], columns=list(result.keys()))


def _targets_query() -> Select[*tuple[Any, ...]]:
    # What went, came back and was taken back carries the target it was for.
    sent = select(-func.sum(PlantMovement.change)).where(PlantMovement.target_id == Target.id).scalar_subquery()
    # In the order in which they are served when seed is short.
    return (
        select(
            Target.id.label("target_id"), Target.species_id, Target.site_id, Target.season, Target.basis,
            Target.plants, Target.density_per_ha, Target.share, Target.survival_year, Target.container_id,
            Target.protocol, Target.seeds_per_cell, Target.assurance, Target.plant_on, Target.priority,
            Site.name.label("site_name"), Site.area_ha, Site.latitude, Site.longitude, Site.region_code,
            Site.basin, Site.window_opens, Site.window_closes, Species.scientific_name.label("species_name"),
            sent.label("sent"),
        )
        .join(Target.site).join(Target.species)
        .where(Target.archived_at.is_(None), Site.archived_at.is_(None))
        .order_by(Target.priority, Target.season, Target.plant_on, Target.id)
    )  # fmt: skip


def _without_served(targets: pd.DataFrame, today: dt.date) -> pd.DataFrame:
    if not len(targets):
        return targets
    _opens, closes = _window(targets)
    is_over = closes < np.datetime64(today, "s")
    is_served = pd.to_numeric(targets["sent"]).fillna(0).to_numpy() > 0
    return targets.drop(columns="sent").loc[~(is_over & is_served)].reset_index(drop=True)


def _containers_query() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Container.id.label("container_id"), Container.name.label("container_name"), Container.cells_per_tray,
            Container.cell_volume_cm3, Container.archived_at, Nursery.name.label("nursery_name"),
            Nursery.latitude.label("nursery_latitude"), Nursery.monthly_mean_c,
        )
        .join(Container.nursery)
        .order_by(Container.cell_volume_cm3, Container.id)
    )  # fmt: skip


def _lots_query() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Lot.id.label("lot_id"), Lot.code.label("lot_code"), Lot.species_id, Lot.material, Lot.amount_mg,
            Lot.pieces, Lot.purity, Lot.tsw_g, Lot.germination, Lot.tested_on, Lot.collected_on, Lot.moisture_pct,
            StoragePlace.temperature_c, Lot.moisture_on, Lot.stored_on, Lot.harmed_on,
        )
        .outerjoin(Lot.storage_place)
        .where(Lot.archived_at.is_(None))
        .order_by(Lot.id)
    )  # fmt: skip


def _with_containers(targets: pd.DataFrame, containers: pd.DataFrame, protocols: ProtocolRows) -> pd.DataFrame:
    """The container a person chose, else the smallest that is large enough for the protocol, else the largest."""
    active = containers[containers["archived_at"].isna()].reset_index(drop=True)
    chosen = pd.to_numeric(targets["container_id"]).to_numpy(np.float64)
    if len(active):
        asked = protocols.planning.table["container_volume_cm3"].to_numpy()[targets["protocol_row"]]
        at = np.searchsorted(active["cell_volume_cm3"].to_numpy(np.float64), asked)
        usual = active["container_id"].to_numpy(np.float64)[np.minimum(at, len(active) - 1)]
        chosen = np.where(np.isnan(chosen), usual, chosen)
    targets = targets.assign(container_id=chosen)
    return targets.merge(
        containers.drop(columns="archived_at").astype({"container_id": np.float64}), how="left", on="container_id"
    )


def _lines(targets: pd.DataFrame, preferences: Preferences) -> pd.DataFrame:
    number = {
        name: pd.to_numeric(targets[name]).astype(np.float64)
        for name in ("density_per_ha", "area_ha", "share", "plants")
    }
    by_density = whole((number["density_per_ha"] * number["area_ha"] * number["share"]).fillna(0.0))
    latitude = targets["nursery_latitude"].astype(np.float64).fillna(targets["latitude"])
    opens, closes = _window(targets)
    return targets.assign(
        wanted=np.where(targets["basis"] == "density", by_density, number["plants"].fillna(0.0)).astype(np.int64),
        survival_year=np.where(targets["basis"] == "survivors", targets["survival_year"], 0).astype(np.int64),
        window_open=opens,
        window_close=closes,
        pinned_day=pd.to_datetime(targets["plant_on"]).to_numpy().astype("datetime64[D]").astype("datetime64[s]"),
        assurance=targets["assurance"].astype(np.float64).fillna(preferences.assurance),
        seeds_per_cell=pd.to_numeric(targets["seeds_per_cell"]).fillna(0).astype(np.int64),
        cells_per_tray=pd.to_numeric(targets["cells_per_tray"]).fillna(0).astype(np.int64),
        cell_volume_cm3=targets["cell_volume_cm3"].astype(np.float64),
        southern=(latitude < 0).to_numpy(),
    )


def _window(targets: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """First and last planting day of each line's season.

    A northern season runs from July to June, so that 2027/28 is the winter between; a southern one is the
    calendar year.
    """
    southern = (targets["latitude"] < 0).to_numpy()
    opens, closes = (
        _day(targets["season"], targets[name], southern) for name in ("window_opens", "window_closes")
    )
    closes = np.where(closes < opens, _day(targets["season"] + 1, targets["window_closes"], southern), closes)
    return opens.astype("datetime64[s]"), closes.astype("datetime64[s]")


def _day(season: pd.Series, month_day: pd.Series, southern: np.ndarray) -> np.ndarray:
    month = month_day.str[:2].astype(np.int64).to_numpy()
    day = month_day.str[3:].astype(np.int64).to_numpy()
    year = season.to_numpy(np.int64) + np.where(~southern & (month < 7), 1, 0)
    first = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    last = (first + 1).astype("datetime64[D]") - 1  # 29 February is the 28th in most years
    return np.asarray(np.minimum(first.astype("datetime64[D]") + (day - 1), last))


def _normals(targets: pd.DataFrame) -> np.ndarray:
    rows = [
        row if isinstance(row, list) and len(row) == 12 else [UNKNOWN_NORMAL_C] * 12
        for row in targets["monthly_mean_c"]
    ]
    return np.array(rows, np.float64).reshape(-1, 12)
