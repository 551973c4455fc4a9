"""What can still be done for a target that falls short: sow more, collect, take from others, buy in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Site
from nursery.models.plans import LineStatus
from nursery.planning.plan import PlanResult, make_plan
from nursery.planning.plan_dates import date_lines
from nursery.planning.rounding import whole
from nursery.planning.words import Method
from nursery.services.batches.sowing import WITHOUT_CELLS, trays_needed
from nursery.services.forecast.moving import Move, offers_to
from nursery.services.forecast.promises import Forecasts, TargetForecast
from nursery.services.planning.gather import Gathered, gather


@dataclass(frozen=True, slots=True)
class Sowing:
    """What would have to be sown: seed of lots that the rules of origin allow, or seed still to be collected."""

    #: ``(lot id, code, seeds, grams or None)``.
    lots: Sequence[tuple[int, str, int, float | None]]
    trays: int
    seeds: int
    #: Seeds of it that no lot has, and until when they can be collected; None where they no longer can.
    missing: int
    collect_by: dt.date | None
    #: The first work, and the last day on which it may begin; sowing on the first way.
    begin_on: dt.date
    last_on: dt.date
    sow_on: dt.date
    container_name: str
    #: How it would be sown.
    method: Method
    protocol: str
    container_id: int | None
    #: 0 where the plan does not say.
    seeds_per_cell: int
    cells_per_tray: int

    def trays_of(self, seeds: int) -> int | None:
        """Trays that so many of its seeds fill; None in flats and beds."""
        if self.container_id is None or not self.cells_per_tray or self.method in WITHOUT_CELLS:
            return None
        return trays_needed(seeds, self.seeds_per_cell or 1, self.cells_per_tray)


@dataclass(frozen=True, slots=True)
class Rescue:
    """All ways out of one shortage, and what no way but buying in would give."""

    lacking: int
    sowing: Sowing | None
    #: Another protocol that would still be in time: its key, and the day by which it must begin.
    shorter: tuple[str, dt.date] | None
    moves: Sequence[Move]
    #: Plants to plant that would have to be bought in if nothing else were done, and those for which there is no
    #: other way than that.
    buy: int
    must_buy: int
    buy_by: dt.date
    region_code: str
    basin: str


def read_rescue(session: Session, target: TargetForecast, found: Forecasts, *, today: dt.date) -> Rescue:
    """Ways out for a target that is short, by the records of today.

    What must be sown is reckoned as a new plan would: all targets of the species at once, what grows for each,
    so that no seed is offered that another needs first.
    """
    gathered = gather(session, today=today, species_id=target.species_id)
    targets = gathered.inputs.lines["target_id"].tolist()
    place = session.execute(select(Site.region_code, Site.basin).where(Site.id == target.site_id)).one()
    moves = offers_to(session, target, found, today=today)
    plants = _plants_of(target, target.lacking)
    if target.target_id not in targets:
        must = _must_buy(target, plants, moves)
        return Rescue(target.lacking, None, None, moves, plants, must, target.closes_on, *place)
    at, result = targets.index(target.target_id), make_plan(gathered.inputs)
    line = result.lines.iloc[at]
    can_be_sown = line["status"] in {LineStatus.ON_TRACK, LineStatus.COLLECT} or (
        line["status"] == LineStatus.SHORT and line["seeds"] > line["seeds_missing"]
    )
    sowing = _sowing(gathered, result, at) if can_be_sown and line["seeds"] > 0 else None
    return Rescue(
        lacking=target.lacking,
        sowing=sowing,
        shorter=_shorter(result, at),
        moves=moves,
        buy=plants,
        must_buy=_must_buy(target, int(line["shortfall"]), moves) if line["status"] != LineStatus.COLLECT else 0,
        buy_by=target.closes_on,
        region_code=place.region_code,
        basin=place.basin,
    )


def _plants_of(target: TargetForecast, ready: int) -> int:
    """Plants to plant that so many ready plants stand for."""
    line = target.line
    share = line.plants_to_plant / line.ready_plants if line and line.ready_plants else 1.0
    return int(whole(ready * share))


def _must_buy(target: TargetForecast, short: int, moves: Sequence[Move]) -> int:
    """Plants that neither seed nor other targets can give."""
    spare: dict[int, int] = {}
    for move in moves:
        key, most = (move.giver.target_id, move.giver.spare) if move.giver else (-move.batch_id, move.ready)
        spare[key] = min(spare.get(key, 0) + move.ready, most)
    rest = max(target.lacking - sum(spare.values()), 0)
    return min(short, _plants_of(target, rest))


def _sowing(gathered: Gathered, result: PlanResult, at: int) -> Sowing:
    names = gathered.lines.iloc[at]
    line, draws = result.lines.iloc[at], result.draws[result.draws["line"] == at]
    ids, codes = gathered.lots["lot_id"].tolist(), gathered.lots["lot_code"].tolist()
    cuttings = bool(line["is_cuttings"])
    lots = [
        (ids[lot], codes[lot], int(seeds), None if cuttings else float(grams))
        for lot, seeds, grams in zip(draws["lot"], draws["seeds"], draws["grams"], strict=True)
    ]
    days = {name: line[name].date() for name in ("pretreat_on", "sow_on")}
    missing = int(line["seeds_missing"])
    return Sowing(
        lots=lots,
        trays=int(line["trays"]),
        seeds=int(line["seeds"]),
        missing=missing,
        collect_by=line["collect_by"].date() if missing and line["status"] == LineStatus.COLLECT else None,
        begin_on=days["pretreat_on"],
        last_on=_last_day(gathered, at, days["pretreat_on"]),
        sow_on=days["sow_on"],
        container_name=str(names["container_name"] or ""),
        method=Method(line["method"]),
        protocol=str(gathered.protocols.protocols[gathered.inputs.lines["protocol_row"].iloc[at]].key),
        container_id=None if np.isnan(names["container_id"]) else int(names["container_id"]),
        seeds_per_cell=int(line["seeds_per_cell"] or 0),
        cells_per_tray=int(gathered.inputs.lines["cells_per_tray"].iloc[at]),
    )


def _last_day(gathered: Gathered, at: int, first: dt.date) -> dt.date:
    """The last day on which work may begin so that plants are ready when the planting window closes."""
    one = gathered.inputs.only(np.array([at]))
    lines = one.lines
    pinned = lines["pinned_day"].to_numpy().astype("datetime64[D]")
    closes = lines["window_close"].to_numpy().astype("datetime64[D]")
    dating = date_lines(one, lines["protocol_row"].to_numpy(), np.where(np.isnat(pinned), closes, pinned))
    last = dating.start[0].item()
    return max(last, first) if last else first


def _shorter(result: PlanResult, at: int) -> tuple[str, dt.date] | None:
    found = result.problems[(result.problems["line"] == at) & (result.problems["code"] == "rescue-protocol")]
    return None if found.empty else (str(found["text"].iloc[0]), found["day"].iloc[0].date())
