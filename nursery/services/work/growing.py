"""Tasks of growing: from withdrawing seed to sending plants out and counting what lives."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from nursery.catalog import SpeciesEntry
from nursery.catalog.vocabulary import PRETREATMENT_PHASES
from nursery.models import Batch, PlanLine
from nursery.planning.field.words import YEARS
from nursery.planning.heavy import pd
from nursery.planning.months import mask_of, next_day_in_months, shift_hemisphere
from nursery.planning.work.tasks import FEED_EVERY, Chains, feeds, latest_days, make_tasks
from nursery.planning.work.words import Job
from nursery.services.work.gathering import Chain, Gathered, stage_rank
from nursery.services.work.surveying import DAYS, survey_key
from nursery.services.work.wanted import Wanted

_ALL_YEAR = 0b1111_1111_1111
_NAT = np.datetime64("NaT", "D")
#: A share of a line's seed that nobody sows for its own sake.
LITTLE = 0.02
_TO_SOWING = {Job.WITHDRAW, Job.SOAK, Job.SCARIFY, Job.STRATIFY, Job.CHECK, Job.SOW}


def growing_tasks(gathered: Gathered, *, today: dt.date, feeding: bool = True) -> list[Wanted]:
    """All tasks of lines and batches, of their targets and sites, and the feeds of each nursery.

    Feeds are for all that grows in a nursery: of a few chains alone (not ``feeding``) they cannot be told.
    """
    chains = [chain for chain in gathered.chains if chain.phases]
    if not chains:
        dispatches = list(_dispatches(gathered.chains, {}))
        return [*dispatches, *_surveys(dispatches)]
    frames = _frames(gathered, chains)
    table = make_tasks(frames)
    table["latest"], table["sow_latest"] = _latest(gathered, chains, frames.phases, table)
    found = list(_chain_tasks(chains, table))
    lasts = _last_tasks(chains, table)
    dispatches = list(_dispatches(gathered.chains, lasts))
    fed = _feeds(chains, frames.phases, today) if feeding else ()
    return [*found, *dispatches, *_surveys(dispatches), *fed]


def _frames(gathered: Gathered, chains: Sequence[Chain]) -> Chains:
    lines = pd.DataFrame([_line_row(chain, gathered.entries.get(chain.species_id)) for chain in chains])
    phases = pd.DataFrame(
        [
            (row, phase["name"], phase["start"], phase["end"], phase["wait_days"],
             phase["name"] in PRETREATMENT_PHASES)
            for row, chain in enumerate(chains) for phase in chain.phases
        ],
        columns=["chain", "name", "start", "end", "wait_days", "before"],
    )  # fmt: skip
    for name in ("start", "end"):
        phases[name] = pd.to_datetime(phases[name])
    draws = pd.DataFrame(
        [
            (row, draw.lot_id, draw.cells)
            for row, chain in enumerate(chains) if chain.batch is None and chain.line is not None
            for draw in chain.line.draws
        ],
        columns=["chain", "lot_id", "cells"],
    )  # fmt: skip
    return Chains(lines, phases, draws)


def _coming_up(batch: Batch, cells: int, entry: SpeciesEntry | None) -> float:
    """Seedlings that are expected of a batch nobody has counted, by its own protocol or the species' first."""
    protocols = {one.key: one for one in entry.protocols} if entry is not None else {}
    protocol = protocols.get(batch.protocol) or (entry.default_protocol if entry is not None else None)
    if protocol is None:
        return 0.0
    rates = protocol.rates
    germination = batch.viability if batch.viability is not None else rates["germination"].mean
    emerging = germination * rates["emergence"].mean
    if not cells:
        return batch.seeds * emerging
    return float(cells * (1 - (1 - emerging) ** (batch.seeds / cells)))


def _line_row(chain: Chain, entry: SpeciesEntry | None) -> dict[str, Any]:
    batch, line = chain.batch, chain.line
    row: dict[str, Any] = {
        "method": str(chain.method), "sown": batch is not None,
        "share": chain.share if chain.share > LITTLE else 0.0,
        "cells_missing": chain.cells_missing, "rank": stage_rank(batch), "in_cells": False,
    }  # fmt: skip
    if batch is not None:
        cells = batch.trays * (batch.cells_per_tray or 0)
        alive = float(batch.alive) or _coming_up(batch, cells, entry)
        return row | {
            "lots": 1, "cells": cells, "seeds_per_cell": batch.seeds_per_cell or 1, "trays": batch.trays,
            "emerged": alive, "standing": alive, "in_cells": batch.cells_per_tray is not None,
        }  # fmt: skip
    assert line is not None  # noqa: S101 -- a chain is one or the other
    cull = float(line.basis.get("rates", {}).get("cull", [0.0])[0])
    return row | {
        "lots": len(line.draws), "cells": line.cells_sown, "seeds_per_cell": line.seeds_per_cell or 1,
        "trays": line.trays, "emerged": line.cells_sown, "standing": line.expected / max(1 - cull, 0.05),
    }  # fmt: skip


def _latest(
    gathered: Gathered, chains: Sequence[Chain], phases: pd.DataFrame, table: pd.DataFrame
) -> tuple[Any, Any]:
    """The last day of each task, by sowing months and the window of its site; of sowings, that by months alone."""
    days = (phases["end"] - phases["start"]).dt.days - phases["wait_days"]
    end = days.groupby(phases["chain"]).sum().reindex(range(len(chains)), fill_value=0).to_numpy(np.int64)
    before = days.where(phases["before"], 0).groupby(phases["chain"]).sum()
    sow_offset = before.reindex(range(len(chains)), fill_value=0).to_numpy(np.int64)
    masks, sow_on, closes = [], [], []
    for chain in chains:
        entry = gathered.entries.get(chain.species_id)
        protocols = {one.key: one for one in entry.protocols} if entry else {}
        months = protocols[chain.protocol].sowing_months if chain.protocol in protocols else ()
        southern = chain.nursery_id in gathered.southern
        masks.append(int(shift_hemisphere(mask_of(months), southern)))
        sow_on.append(chain.line.sow_on if chain.batch is None and chain.line is not None else None)
        closes.append(window_of(chain.line)[1] if chain.line is not None else None)
    mask = np.array(masks, np.int64)
    day = np.array(sow_on, "datetime64[D]")
    bound = (mask > 0) & (mask < _ALL_YEAR)
    over = next_day_in_months(day, np.where(bound, _ALL_YEAR & ~mask, _ALL_YEAR)) - np.timedelta64(1, "D")
    sow_latest = np.where(bound, over, _NAT)
    row = table["chain"].to_numpy(np.int64)
    window = np.array(closes, "datetime64[D]")
    latest = latest_days(
        table["offset"].to_numpy(np.int64), sow_offset[row], sow_latest[row], end[row], window[row]
    )
    return latest, np.where(table["job"] == Job.SOW, sow_latest[row], _NAT)


def window_of(line: PlanLine) -> tuple[dt.date | None, dt.date | None]:
    """First and last planting day of a line's site, as the plan took them."""
    found = [dt.date.fromisoformat(day) if day else None for day in line.basis.get("window", (None, None))]
    return found[0], found[1]


def _chain_tasks(chains: Sequence[Chain], table: pd.DataFrame) -> Iterator[Wanted]:
    keys = [f"{chains[row.chain].key}-{row.step}" for row in _rows(table)]
    for key, row in zip(keys, _rows(table), strict=True):
        chain = chains[row.chain]
        lot_id = None if pd.isna(row.lot_id) else int(row.lot_id)
        amount = None if pd.isna(row.amount) else float(row.amount)
        share, done_on = _sown(chain, Job(row.job), lot_id)
        before = keys[row.after] if row.after >= 0 else ""
        yield Wanted(
            key=key, job=Job(row.job), planned_on=row.day.date(), until_on=_date(row.until),
            latest_on=_date(row.latest), amount=amount, done=share * (amount or 0.0), done_on=done_on,
            after=before, gap_days=int(row.gap_days) if before else None,
            links=_links(chain) | {"lot_id": lot_id or (chain.batch.lot_id if chain.batch else None)},
            details=_details(chain, lot_id) | _given(
                phase=row.phase, stage=row.stage, sow_latest=_iso(_date(row.sow_latest))
            ),
        )  # fmt: skip


def _sown(chain: Chain, job: Job, lot_id: int | None) -> tuple[float, dt.date | None]:
    """How far the work up to the sowing of a line is done, as batches already sown for it show."""
    if job not in _TO_SOWING or not chain.sown or chain.line is None:
        return 0.0, None
    last = max(day for _seeds, day in chain.sown.values())
    if job in {Job.SOW, Job.WITHDRAW} and lot_id is not None:
        asked = sum(draw.seeds for draw in chain.line.draws if draw.lot_id == lot_id)
        seeds, day = chain.sown.get(lot_id, (0, last))
        share = min(1.0, seeds / asked) if asked else 1.0
        return (1.0 if job is Job.WITHDRAW and share > 0 else share), day
    return (1.0, last) if chain.share <= LITTLE else (0.0, None)


def _links(chain: Chain) -> dict[str, int | None]:
    return {
        "nursery_id": chain.nursery_id,
        "line_id": chain.line.id if chain.line is not None else None,
        "batch_id": chain.batch.id if chain.batch is not None else None,
        "site_id": chain.line.site_id if chain.line is not None else None,
    }


def _details(chain: Chain, lot_id: int | None) -> dict[str, Any]:
    line, batch = chain.line, chain.batch
    found = _given(
        species=chain.species_name, species_id=chain.species_id, protocol=chain.protocol, method=str(chain.method),
        target=chain.target_id, batch=batch.code if batch else None,
        lot=batch.lot.code if batch is not None and batch.lot is not None else None,
    )  # fmt: skip
    if line is not None:
        found |= _given(
            site=line.site_name, season=line.season, seeds_per_cell=line.seeds_per_cell,
            container=line.container_name, window=line.basis.get("window"),
            ready_plants=line.ready_plants, to_plant=line.plants_to_plant,
        )  # fmt: skip
        draws = [draw for draw in line.draws if lot_id is None or draw.lot_id == lot_id] if batch is None else []
        if lot_id is not None and draws:
            found["draw"] = draws[0].id
        found |= _given(
            lots=[draw.lot_code for draw in draws], seeds=sum(draw.seeds for draw in draws),
            grams=sum(draw.milligrams or 0 for draw in draws) / 1000,
        )  # fmt: skip
    if lot_id is not None and found.get("lots"):
        found["lot"] = found["lots"][0]
    return found


def _given(**values: Any) -> dict[str, Any]:
    """What there is of it; pandas has NaN where there is nothing."""
    return {name: value for name, value in values.items() if value and value == value}  # noqa: PLR0124 -- NaN


def _last_tasks(chains: Sequence[Chain], table: pd.DataFrame) -> Mapping[int, tuple[str, int]]:
    """The task that frees a target's plants for planting, and the days from it: of all its chains the latest."""
    found: dict[int, tuple[dt.date, str]] = {}
    for row in _rows(table[table["is_last"]]):
        target = chains[row.chain].target_id
        last = row.day.date(), f"{chains[row.chain].key}-{row.step}"
        if target is not None and row.job == Job.GRADE:
            found[target] = max(found.get(target, last), last)
    return {target: (key, 0) for target, (_day, key) in found.items()}


def _dispatches(chains: Iterable[Chain], lasts: Mapping[int, tuple[str, int]]) -> Iterator[Wanted]:
    """One a target, whatever gives the plants; the line of the plan in force speaks before that of a batch."""
    seen: dict[int, Chain] = {}
    for chain in sorted(chains, key=lambda chain: chain.batch is not None):
        if chain.target_id is not None and chain.line is not None and chain.line.target_id == chain.target_id:
            seen.setdefault(chain.target_id, chain)
    for target, chain in seen.items():
        line = chain.line
        if line is None or not line.plants_to_plant:
            continue
        after, gap = lasts.get(target, ("", 0))
        details = _details(chain, None)
        for name in ("lots", "lot", "seeds", "grams", "batch"):
            details.pop(name, None)
        yield Wanted(
            key=f"t{target}-dispatch", job=Job.DISPATCH, planned_on=line.plant_on, latest_on=window_of(line)[1],
            amount=float(line.plants_to_plant), after=after, gap_days=gap if after else None,
            links=_links(chain) | {"batch_id": None}, details=details,
        )  # fmt: skip


def _surveys(dispatches: Iterable[Wanted]) -> Iterator[Wanted]:
    """Those of the plan: one a site, season and year, so many years after its last planting."""
    by_site: defaultdict[tuple[int, int], list[Wanted]] = defaultdict(list)
    for task in dispatches:
        site = task.links.get("site_id")
        if site is not None:
            by_site[site, task.details["season"]].append(task)
    for (site, season), tasks in by_site.items():
        last = max(tasks, key=lambda task: (task.planned_on, task.key))
        for year in YEARS:
            yield Wanted(
                key=survey_key(site, season, year), job=Job.SURVEY,
                planned_on=last.planned_on + dt.timedelta(days=DAYS * year),
                amount=sum(task.amount or 0 for task in tasks), after=last.key, gap_days=DAYS * year,
                links={"site_id": site, "line_id": last.links["line_id"]},
                details={
                    "site": last.details["site"], "season": season, "year": year,
                    "names": sorted({task.details["species"] for task in tasks}),
                },
            )  # fmt: skip


def _feeds(chains: Sequence[Chain], phases: pd.DataFrame, today: dt.date) -> Iterator[Wanted]:
    """Rounds from the one that is due now; a round left out is not made good by two."""
    grown = phases[phases["name"] == "growing"]
    rows = []
    for chain, start, end in zip(grown["chain"], grown["start"], grown["end"], strict=True):
        own = chains[chain]
        trays = own.batch.trays if own.batch is not None else own.line.trays * own.share if own.line else 0
        if own.nursery_id is not None:
            rows.append((own.nursery_id, start, end, trays))
    table = feeds(pd.DataFrame(rows, columns=["nursery_id", "start", "end", "trays"]))
    for row in _rows(table):
        day = pd.Timestamp(row.day).date()
        if day + dt.timedelta(days=FEED_EVERY) <= today:
            continue
        yield Wanted(
            key=f"feed-n{int(row.nursery_id)}-{day.isoformat()}", job=Job.FEED, planned_on=day,
            amount=float(np.ceil(row.trays)), links={"nursery_id": int(row.nursery_id)},
        )  # fmt: skip


def _rows(table: pd.DataFrame) -> Iterator[Any]:
    return table.itertuples(index=False)


def _date(value: Any) -> dt.date | None:
    return None if pd.isna(value) else pd.Timestamp(value).date()


def _iso(day: dt.date | None) -> str | None:
    return day.isoformat() if day is not None else None
