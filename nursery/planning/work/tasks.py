"""From dated phases to tasks: each with its day, its amount, and the task that must be done before it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.work.words import Job

#: What is done on the first day of a phase before the sowing; other phases begin like a stratification.
_BEFORE = {"soak": Job.SOAK, "scarify": Job.SCARIFY, "heat": Job.SCARIFY}
#: Days between looks at seed in pretreatment (common practice, no source): warm or sprouting seed moulds and roots
#: sooner than seed in the cold.
CHECK_EVERY: Mapping[str, int] = {
    "warm-stratify": 7, "sprout": 3, "cold-stratify": 14, "cold-store": 14, "callus": 14
}  # fmt: skip
#: Days between liquid feeds, and from the beginning of growing on to the first (common practice, no source).
FEED_EVERY = 14
#: Days of growing after which seedlings that will die of their first weeks are dead (common practice, no source).
SETTLED_AFTER = 21
_DAY = np.timedelta64(1, "D")
#: A stage that a batch has reached leaves nothing to do of these steps.
_RANK = {stage: number for number, stage in enumerate(STAGES)}
_COLUMNS = [
    "chain",
    "step",
    "job",
    "phase",
    "stage",
    "lot_id",
    "day",
    "until",
    "offset",
    "order",
    "amount",
    "rank",
]


@dataclass(frozen=True)
class Chains:
    """Plan lines and batches as chains of phases.

    ``lines`` has one row a chain: ``method``, ``sown`` (whether it is a batch), ``share`` (of the plants, 0–1,
    that is still to be sown: work after the sowing is for these), ``lots`` (lots drawn), ``cells``,
    ``cells_missing`` (without seed in hand), ``seeds_per_cell``, ``trays``, ``emerged`` and ``standing`` (plants
    to prick out and to grade), ``in_cells`` (nothing to prick out), ``rank`` (stage reached, by `STAGES`).

    ``phases`` has, in order of time, ``chain`` (row of ``lines``), ``name``, ``start``, ``end``, ``wait_days``,
    ``before`` (whether it comes before the sowing); ``draws`` has ``chain``, ``lot_id``, ``cells``.
    """

    lines: pd.DataFrame
    phases: pd.DataFrame
    draws: pd.DataFrame


def make_tasks(chains: Chains) -> pd.DataFrame:
    """The tasks of all chains.

    Returns
    -------
    DataFrame
        Sorted by chain and day. ``step`` tells the tasks of a chain apart and stays from plan to plan; ``after``
        is the row of the task that must be done before (−1 for none), ``gap_days`` the least days between the two;
        ``offset`` counts working days of the chain, its waits left out; ``is_last`` marks the task that frees the
        plants for planting.
    """
    if chains.phases.empty:
        return pd.DataFrame(columns=[*_COLUMNS, "after", "gap_days", "is_last"])
    phases = _measured(chains.phases)
    found = [part for part in (*_before_sowing(chains, phases), *_after_sowing(chains, phases)) if len(part)]
    tasks = pd.concat([part.reindex(columns=_COLUMNS) for part in found], ignore_index=True)
    tasks = tasks[tasks["rank"].isna() | (tasks["rank"] > chains.lines["rank"].to_numpy()[tasks["chain"]])]
    tasks = tasks.sort_values(["chain", "day", "order"], kind="stable", ignore_index=True)
    return _linked(tasks)


def _measured(phases: pd.DataFrame) -> pd.DataFrame:
    """Phases with their days of work, the working days before them, and a number where a name comes again."""
    days = (phases["end"] - phases["start"]).dt.days - phases["wait_days"]
    again = phases.groupby(["chain", "name"]).cumcount()
    step = phases["name"].where(again == 0, phases["name"] + "-" + (again + 1).astype(str))
    offset = days.groupby(phases["chain"]).cumsum() - days
    return phases.assign(days=days, offset=offset, step=step)


def _before_sowing(chains: Chains, phases: pd.DataFrame) -> list[pd.DataFrame]:
    lines = chains.lines
    first = phases.groupby("chain", as_index=False).first()
    first = first[~lines["sown"].to_numpy()[first["chain"]]]
    out = chains.draws.merge(first[["chain", "start", "offset"]], on="chain")
    out = out.assign(step="withdraw-l" + out["lot_id"].astype(str), day=out["start"], amount=1.0)
    before = phases[phases["before"]]
    lots = np.maximum(lines["lots"].to_numpy(np.float64), 1.0)
    begin = before.assign(day=before["start"], until=before["start"] + _days(before["days"]), phase=before["name"])
    begin = begin.assign(
        job=before["name"].map(_BEFORE).fillna(Job.STRATIFY), amount=lots[before["chain"]], order=1
    )
    begin["until"] = begin["until"].where(begin["days"] > 1)
    return [out.assign(job=Job.WITHDRAW, order=0), begin, _checks(before, lots), *_sowings(chains, phases)]


def _checks(before: pd.DataFrame, lots: np.ndarray) -> pd.DataFrame:
    """A look at seed in pretreatment every so many days; the day on which a phase ends needs none."""
    every = before["name"].map(CHECK_EVERY)
    some = before[every.notna()]
    every = every[every.notna()].astype(int)
    times = np.maximum((some["days"] - 1) // every, 0)
    looks = some.loc[some.index.repeat(times)]
    number = looks.groupby(level=0).cumcount() + 1
    passed = number * every.loc[looks.index]
    return looks.assign(
        job=Job.CHECK, day=looks["start"] + _days(passed), offset=looks["offset"] + passed, phase=looks["name"],
        step="check-" + looks["step"] + "-" + number.astype(str), order=2, amount=lots[looks["chain"]],
    )  # fmt: skip


def _sowings(chains: Chains, phases: pd.DataFrame) -> list[pd.DataFrame]:
    lines = chains.lines
    sow = phases[~phases["before"]].groupby("chain", as_index=False).first()
    sow = sow[~lines["sown"].to_numpy()[sow["chain"]]]
    sow = sow.assign(day=sow["start"], job=Job.SOW, order=3, phase=sow["name"])
    each = chains.draws.merge(sow.drop(columns="step"), on="chain")
    each = each.assign(step="sow-l" + each["lot_id"].astype(str), amount=each["cells"].astype(float))
    missing = lines["cells_missing"].to_numpy(np.float64)[sow["chain"]]
    rest = sow.assign(step="sow", amount=missing)[(missing > 0) | (lines["lots"].to_numpy()[sow["chain"]] == 0)]
    return [each, rest]


def _after_sowing(chains: Chains, phases: pd.DataFrame) -> list[pd.DataFrame]:
    lines = chains.lines
    phases = phases[(~phases["before"]) & (lines["share"].to_numpy()[phases["chain"]] > 0)]
    at = phases["chain"].to_numpy()
    method, share = lines["method"].to_numpy()[at], lines["share"].to_numpy(np.float64)[at]
    grown = {
        name: np.ceil(lines[name].to_numpy(np.float64) * lines["share"].to_numpy(np.float64) - 1e-9)
        for name in ("trays", "cells", "emerged", "standing")
    }
    phases = phases.assign(method=method, share=share, phase=phases["name"])
    in_trays = np.where(grown["trays"] > 0, grown["trays"], np.nan)

    def begins(
        some: pd.DataFrame, job: Job, step: str, amount: np.ndarray, rank: Stage, order: int
    ) -> pd.DataFrame:
        return some.assign(
            job=job, step=step, day=some["start"], amount=amount[some["chain"]], rank=_RANK[rank], order=order
        )

    def counted(some: pd.DataFrame, stage: Stage, passed: pd.Series) -> pd.DataFrame:
        is_flat = (some["method"] == "pricked-out") & (stage is Stage.EMERGED)
        return some.assign(
            job=Job.COUNT, step=f"count-{stage}", stage=stage.value, day=some["start"] + _days(passed),
            offset=some["offset"] + passed, rank=_RANK[stage], order=4,
            amount=np.where(is_flat, np.nan, in_trays[some["chain"]]),
        )  # fmt: skip

    first = phases.groupby("chain", as_index=False).first()
    last = phases.groupby("chain", as_index=False).last()
    by_name = {name: phases[phases["name"] == name] for name in ("pricking-out", "growing", "hardening")}
    to_prick = ~lines["in_cells"].to_numpy()[by_name["pricking-out"]["chain"]]
    thinned = (by_name["growing"]["method"] == "direct") & (
        lines["seeds_per_cell"].to_numpy()[by_name["growing"]["chain"]] > 1
    )
    harden = begins(by_name["hardening"], Job.HARDEN, "harden", in_trays, Stage.HARDENING, 7)
    graded = last.assign(
        job=Job.GRADE, step="grade", day=last["start"] + _days(last["days"]), offset=last["offset"] + last["days"],
        amount=grown["standing"][last["chain"]], rank=_RANK[Stage.READY], order=8,
    )  # fmt: skip
    return [
        counted(first, Stage.EMERGED, first["days"]),
        begins(by_name["pricking-out"][to_prick], Job.PRICK_OUT, "prick-out", grown["emerged"], Stage.GROWING, 5),
        begins(by_name["growing"][thinned], Job.THIN, "thin", grown["cells"], Stage.GROWING, 5),
        counted(by_name["growing"], Stage.GROWING, _settled_after(by_name["growing"])),
        begins(by_name["hardening"], Job.MOVE, "move", in_trays, Stage.HARDENING, 6),
        harden.assign(until=harden["start"] + _days(harden["days"])),
        counted(by_name["hardening"], Stage.HARDENING, by_name["hardening"]["days"] * 0),
        graded,
    ]


def _settled_after(growing: pd.DataFrame) -> pd.Series:
    """Days from which on seedlings are established: pricked-out ones are counted as they stand in their cells."""
    soon = (growing["days"] // 4).clip(upper=SETTLED_AFTER)
    return soon.where(growing["method"] != "pricked-out", 0)


def _linked(tasks: pd.DataFrame) -> pd.DataFrame:
    """Each task behind the one before it in its chain; looks at seed hang beside, on the phase they look into."""
    is_check = (tasks["job"] == Job.CHECK).to_numpy()
    rows = pd.Series(np.arange(len(tasks)), index=tasks.index)
    line = rows.where(~is_check)
    before = line.groupby(tasks["chain"]).ffill()
    after = np.where(is_check, before, before.groupby(tasks["chain"]).shift())
    after = np.where(np.isnan(after), -1, after).astype(np.int64)
    offset = tasks["offset"].to_numpy(np.int64)
    gap = np.where(after >= 0, offset - offset[after], 0)
    last = line.groupby(tasks["chain"]).transform("max")
    return tasks.assign(after=after, gap_days=gap, is_last=rows == last)


def latest_days(
    offset: np.ndarray, sow_offset: np.ndarray, sow_latest: np.ndarray, end_offset: np.ndarray, closes: np.ndarray
) -> np.ndarray:
    """The last day on which each task can still be done for its season.

    Parameters
    ----------
    offset, sow_offset, end_offset : ndarray of int, shape (tasks,)
        Working days of the chain up to the task, to its sowing, and to its planting.
    sow_latest, closes : ndarray of datetime64[D], shape (tasks,)
        The last day allowed for sowing and for planting; NaT bounds nothing.

    Returns
    -------
    ndarray of datetime64[D]
        The earlier of the two bounds, NaT where nothing bounds a task. What comes after the sowing is bounded by
        planting alone.
    """
    by_planting = closes - (end_offset - offset) * _DAY
    by_sowing = np.where(
        offset <= sow_offset, sow_latest - (sow_offset - offset) * _DAY, np.datetime64("NaT", "D")
    )
    return np.asarray(np.fmin(by_planting, by_sowing))


def feeds(growing: pd.DataFrame) -> pd.DataFrame:
    """Rounds of liquid feed: one Monday in two, for all trays of a nursery that grow on that day.

    ``growing`` has ``nursery_id``, ``start``, ``end`` and ``trays``; the answer has ``nursery_id``, ``day`` and
    ``trays``. The last feed lies before hardening begins.
    """
    some = growing[growing["trays"] > 0]
    if some.empty:
        return pd.DataFrame({"nursery_id": [], "day": [], "trays": []})
    # Rounds are counted from a fixed Monday, so that they stay on their days from plan to plan.
    epoch = np.datetime64("2001-01-01", "D")
    begin = some["start"].to_numpy("datetime64[D]") + FEED_EVERY * _DAY
    end = some["end"].to_numpy("datetime64[D]")
    first = -((epoch - begin).astype(np.int64) // FEED_EVERY)
    times = np.maximum(-(-((end - epoch).astype(np.int64)) // FEED_EVERY) - first, 0)
    rounds = some.loc[some.index.repeat(times), ["nursery_id", "trays"]]
    number = np.concatenate([np.arange(count) for count in times]) if times.sum() else np.zeros(0, np.int64)
    rounds = rounds.assign(day=epoch + (np.repeat(first, times) + number) * FEED_EVERY * _DAY)
    return rounds.groupby(["nursery_id", "day"], as_index=False)[["trays"]].sum()


def _days(number: pd.Series) -> pd.Series:
    return pd.to_timedelta(number, unit="D")
