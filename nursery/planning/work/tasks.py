"""From dated phases to tasks: each with its day, its amount, and the task that must be done before it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.heavy import pd
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


#: Rows of a table, as columns; arrays, since most calls are for the one batch that somebody has just counted.
_Rows = dict[str, np.ndarray]
_EMPTY: Mapping[str, object] = {
    "phase": np.nan, "stage": np.nan, "lot_id": np.nan, "until": np.datetime64("NaT", "s"), "amount": np.nan,
    "rank": np.nan,
}  # fmt: skip


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
    lines, draws = _columns(chains.lines), _columns(chains.draws)
    phases = _measured(_columns(chains.phases))
    tasks = _stacked([*_before_sowing(lines, draws, phases), *_after_sowing(lines, phases)])
    rank = tasks["rank"]
    tasks = _some(tasks, np.isnan(rank) | (rank > lines["rank"][tasks["chain"]]))
    tasks = _some(tasks, np.lexsort((tasks["order"], tasks["day"], tasks["chain"])))
    return pd.DataFrame(tasks | _links(tasks))


def _columns(table: pd.DataFrame) -> _Rows:
    return {str(name): column.to_numpy() for name, column in table.items()}


def _some(rows: _Rows, which: np.ndarray) -> _Rows:
    return {name: column[which] for name, column in rows.items()}


def _stacked(parts: Sequence[Mapping[str, object]]) -> _Rows:
    """All rows of the parts; one value of a part stands for all its rows."""
    found: dict[str, list[np.ndarray]] = {name: [] for name in _COLUMNS}
    for part in parts:
        length = len(np.asarray(part["chain"]))
        for name in _COLUMNS:
            value = part.get(name, _EMPTY.get(name))
            found[name].append(value if isinstance(value, np.ndarray) else np.full(length, value, _kind(value)))
    return {name: np.concatenate(columns) for name, columns in found.items()}


def _kind(value: object) -> type | None:
    return object if isinstance(value, str) else None


def _is_first(chain: np.ndarray) -> np.ndarray:
    """Marks the first row of each chain; the rows of a chain lie together."""
    return np.concatenate([[True], chain[1:] != chain[:-1]])[: len(chain)]


def _is_last(chain: np.ndarray) -> np.ndarray:
    return np.concatenate([chain[1:] != chain[:-1], [True]])[-len(chain) :] if len(chain) else np.zeros(0, bool)


def _number_within(group: np.ndarray) -> np.ndarray:
    """The how-maniest row of its group each is, from 0."""
    order = np.argsort(group, kind="stable")
    rows = np.arange(len(group))
    begin = np.maximum.accumulate(np.where(_is_first(group[order]), rows, 0))
    number = np.empty(len(group), np.int64)
    number[order] = rows - begin
    return number


def _measured(phases: _Rows) -> _Rows:
    """Phases by chain: days of work, working days before them, and a number where a name comes again."""
    phases = _some(phases, np.argsort(phases["chain"], kind="stable"))
    chain, name = phases["chain"].astype(np.int64), phases["name"].astype(object)
    start, end = (phases[edge].astype("datetime64[D]") for edge in ("start", "end"))
    days = (end - start).astype(np.int64) - phases["wait_days"].astype(np.int64)
    before = np.cumsum(days) - days
    rows = np.arange(len(chain))
    offset = before - before[np.maximum.accumulate(np.where(_is_first(chain), rows, 0))]
    names, code = np.unique(name, return_inverse=True)
    again = _number_within(chain * len(names) + code)
    step = name.copy()
    for row in np.flatnonzero(again):
        step[row] = f"{name[row]}-{again[row] + 1}"
    return {
        "chain": chain, "phase": name, "start": start, "before": phases["before"].astype(bool), "days": days,
        "offset": offset, "step": step,
    }  # fmt: skip


def _of_lots(draws: _Rows, rows: _Rows) -> tuple[_Rows, _Rows]:
    """Draws of the chains that have a row, and that row beside each."""
    chain, known = draws["chain"].astype(np.int64), rows["chain"]
    place = np.searchsorted(known, chain)
    found = np.isin(chain, known)
    return _some(draws, found), _some(rows, place[found])


def _named(begin: str, numbers: np.ndarray) -> np.ndarray:
    return np.array([f"{begin}{number}" for number in numbers.tolist()], object)


def _before_sowing(lines: _Rows, draws: _Rows, phases: _Rows) -> list[Mapping[str, object]]:
    chain = phases["chain"]
    own, first = _of_lots(draws, _some(phases, _is_first(chain) & ~lines["sown"].astype(bool)[chain]))
    out = {
        "chain": first["chain"], "lot_id": own["lot_id"].astype(np.float64), "day": first["start"],
        "step": _named("withdraw-l", own["lot_id"]), "offset": first["offset"], "amount": 1.0,
        "job": Job.WITHDRAW, "order": 0,
    }  # fmt: skip
    before = _some(phases, phases["before"])
    lots = np.maximum(lines["lots"].astype(np.float64), 1.0)
    begin = before | {
        "day": before["start"], "until": _until(before, before["days"] > 1),
        "job": np.array([_BEFORE.get(name, Job.STRATIFY) for name in before["phase"]], object),
        "amount": lots[before["chain"]], "order": 1,
    }  # fmt: skip
    return [out, begin, _checks(before, lots), *_sowings(lines, draws, phases)]


def _checks(before: _Rows, lots: np.ndarray) -> Mapping[str, object]:
    """A look at seed in pretreatment every so many days; the day on which a phase ends needs none."""
    every = np.array([CHECK_EVERY.get(name, 0) for name in before["phase"]], np.int64)
    times = np.where(every > 0, np.maximum((before["days"] - 1) // np.maximum(every, 1), 0), 0)
    row = np.repeat(np.arange(len(times)), times)
    looks, number = _some(before, row), _number_within(row) + 1
    passed = number * every[row]
    step = [f"check-{step}-{one}" for step, one in zip(looks["step"].tolist(), number.tolist(), strict=True)]
    return looks | {
        "job": Job.CHECK, "day": looks["start"] + passed * _DAY, "offset": looks["offset"] + passed,
        "step": np.array(step, object), "order": 2, "amount": lots[looks["chain"]],
    }  # fmt: skip


def _sowings(lines: _Rows, draws: _Rows, phases: _Rows) -> list[Mapping[str, object]]:
    sow = _some(phases, ~phases["before"])
    sow = _some(sow, _is_first(sow["chain"]) & ~lines["sown"].astype(bool)[sow["chain"]])
    own, each = _of_lots(draws, sow)
    of_lot = {
        **each, "lot_id": own["lot_id"].astype(np.float64), "step": _named("sow-l", own["lot_id"]),
        "amount": own["cells"].astype(np.float64), "day": each["start"], "job": Job.SOW, "order": 3,
    }  # fmt: skip
    missing = lines["cells_missing"].astype(np.float64)
    rest = _some(sow, (missing[sow["chain"]] > 0) | (lines["lots"][sow["chain"]] == 0))
    of_none = {"step": "sow", "amount": missing[rest["chain"]], "day": rest["start"], "job": Job.SOW, "order": 3}
    return [of_lot, {**rest, **of_none}]


def _after_sowing(lines: _Rows, phases: _Rows) -> list[Mapping[str, object]]:
    share = lines["share"].astype(np.float64)
    phases = _some(phases, ~phases["before"] & (share[phases["chain"]] > 0))
    phases["method"] = lines["method"].astype(object)[phases["chain"]]
    grown = {
        name: np.ceil(lines[name].astype(np.float64) * share - 1e-9)
        for name in ("trays", "cells", "emerged", "standing")
    }
    in_trays = np.where(grown["trays"] > 0, grown["trays"], np.nan)

    def begins(
        some: _Rows, job: Job, step: str, amount: np.ndarray, rank: Stage, order: int
    ) -> Mapping[str, object]:
        own = {"job": job, "step": step, "day": some["start"], "amount": amount[some["chain"]]}
        return {**some, **own, "rank": float(_RANK[rank]), "order": order}

    def counted(some: _Rows, stage: Stage, passed: np.ndarray) -> Mapping[str, object]:
        is_flat = (some["method"] == "pricked-out") & (stage is Stage.EMERGED)
        return {
            **some, "job": Job.COUNT, "step": f"count-{stage}", "stage": stage.value,
            "day": some["start"] + passed * _DAY, "offset": some["offset"] + passed,
            "rank": float(_RANK[stage]), "order": 4,
            "amount": np.where(is_flat, np.nan, in_trays[some["chain"]]),
        }  # fmt: skip

    first, last = _some(phases, _is_first(phases["chain"])), _some(phases, _is_last(phases["chain"]))
    pricking, growing, hardening = (
        _some(phases, phases["phase"] == name) for name in ("pricking-out", "growing", "hardening")
    )
    to_prick = _some(pricking, ~lines["in_cells"].astype(bool)[pricking["chain"]])
    thinned = _some(growing, (growing["method"] == "direct") & (lines["seeds_per_cell"][growing["chain"]] > 1))
    harden = begins(hardening, Job.HARDEN, "harden", in_trays, Stage.HARDENING, 7)
    graded = {
        **last, "job": Job.GRADE, "step": "grade", "day": last["start"] + last["days"] * _DAY,
        "offset": last["offset"] + last["days"], "amount": grown["standing"][last["chain"]],
        "rank": float(_RANK[Stage.READY]), "order": 8,
    }  # fmt: skip
    return [
        counted(first, Stage.EMERGED, first["days"]),
        begins(to_prick, Job.PRICK_OUT, "prick-out", grown["emerged"], Stage.GROWING, 5),
        begins(thinned, Job.THIN, "thin", grown["cells"], Stage.GROWING, 5),
        counted(growing, Stage.GROWING, _settled_after(growing)),
        begins(hardening, Job.MOVE, "move", in_trays, Stage.HARDENING, 6),
        {**harden, "until": _until(hardening, np.ones(len(hardening["days"]), bool))},
        counted(hardening, Stage.HARDENING, hardening["days"] * 0),
        graded,
    ]


def _until(rows: _Rows, is_long: np.ndarray) -> np.ndarray:
    """The end of the work of a phase, where it takes so long that it has one."""
    return np.where(is_long, rows["start"] + rows["days"] * _DAY, np.datetime64("NaT", "D"))


def _settled_after(growing: _Rows) -> np.ndarray:
    """Days from which on seedlings are established: pricked-out ones are counted as they stand in their cells."""
    return np.where(growing["method"] == "pricked-out", 0, np.minimum(growing["days"] // 4, SETTLED_AFTER))


def _links(tasks: _Rows) -> _Rows:
    """Each task behind the one before it in its chain; looks at seed hang beside, on the phase they look into."""
    chain = tasks["chain"]
    rows = np.arange(len(chain))
    is_step = (tasks["job"] != Job.CHECK).astype(bool)
    # The latest step up to each row and before it, where that lies in the same chain.
    so_far = np.maximum.accumulate(np.where(is_step, rows, -1))
    before = np.concatenate([[-1], so_far[:-1]])[: len(rows)]
    begin = np.maximum.accumulate(np.where(_is_first(chain), rows, 0))
    after = np.where(before >= begin, before, -1)
    gap = np.where(after >= 0, tasks["offset"] - tasks["offset"][after], 0)
    steps = rows[is_step]
    is_last = np.zeros(len(rows), bool)
    is_last[steps[_is_last(chain[steps])]] = True
    return {"after": after, "gap_days": gap, "is_last": is_last}


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
