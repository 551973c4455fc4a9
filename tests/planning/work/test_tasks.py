from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from nursery.planning.work.tasks import Chains, feeds, latest_days, make_tasks
from nursery.planning.work.words import Job

LINE = {
    "method": "direct", "sown": False, "share": 1.0, "lots": 1, "cells": 480, "cells_missing": 0,
    "seeds_per_cell": 2, "trays": 12, "emerged": 480, "standing": 450.0, "in_cells": False, "rank": -1,
}  # fmt: skip
DRAWS = ["chain", "lot_id", "cells"]
STEPS = (("cold-stratify", 30, 0), ("emergence", 20, 5), ("growing", 101, 0), ("hardening", 40, 3))


def chains(
    *lines: dict[str, Any], steps: tuple[tuple[str, int, int], ...] = STEPS, lots: tuple[int, ...] = (7,)
) -> Chains:
    phases, draws = [], []
    for row, line in enumerate(lines):
        day = pd.Timestamp("2027-01-01")
        for name, days, wait in steps:
            before = name in {"soak", "scarify", "cold-stratify", "warm-stratify", "sprout"}
            if not (line["sown"] and before):
                end = day + pd.Timedelta(days=days + wait)
                phases.append((row, name, day, end, wait, before))
                day = end
        draws += [] if line["sown"] else [(row, lot, line["cells"] // len(lots)) for lot in lots]
    names = ["chain", "name", "start", "end", "wait_days", "before"]
    return Chains(
        pd.DataFrame(lines),
        pd.DataFrame(phases, columns=names),
        pd.DataFrame(draws, columns=["chain", "lot_id", "cells"]),
    )


def told(tasks: pd.DataFrame) -> list[tuple[str, str, float | None]]:
    rows = zip(tasks["step"], tasks["day"], tasks["amount"], strict=True)
    return [(step, f"{day:%m-%d}", None if pd.isna(amount) else amount) for step, day, amount in rows]


def test_a_line_becomes_its_tasks_in_order() -> None:
    tasks = make_tasks(chains(LINE))

    assert told(tasks) == [
        ("withdraw-l7", "01-01", 1.0),
        ("cold-stratify", "01-01", 1.0),
        ("check-cold-stratify-1", "01-15", 1.0),
        ("check-cold-stratify-2", "01-29", 1.0),
        ("sow-l7", "01-31", 480.0),
        ("count-emerged", "02-20", 12.0),
        ("thin", "02-25", 480.0),
        ("count-growing", "03-18", 12.0),
        ("count-hardening", "06-06", 12.0),
        ("move", "06-06", 12.0),
        ("harden", "06-06", 12.0),
        ("grade", "07-16", 450.0),
    ]


def test_each_task_waits_for_the_one_before_by_the_days_of_work_between_without_the_waits() -> None:
    tasks = make_tasks(chains(LINE))
    steps = tasks["step"].tolist()

    before = {steps[row]: steps[after] if after >= 0 else "" for row, after in enumerate(tasks["after"])}

    assert before["sow-l7"] == "cold-stratify"
    assert before["check-cold-stratify-2"] == "cold-stratify"
    gaps = dict(zip(steps, tasks["gap_days"], strict=True))
    assert (gaps["sow-l7"], gaps["check-cold-stratify-2"], gaps["count-emerged"], gaps["thin"]) == (30, 28, 20, 0)
    assert tasks.loc[tasks["is_last"], "step"].tolist() == ["grade"]


def test_every_lot_is_withdrawn_and_sown_by_itself_and_what_no_lot_has_is_sown_too() -> None:
    tasks = make_tasks(chains({**LINE, "lots": 2, "cells_missing": 80}, lots=(7, 9)))

    assert [row for row in told(tasks) if row[0].startswith(("withdraw", "sow"))] == [
        ("withdraw-l7", "01-01", 1.0), ("withdraw-l9", "01-01", 1.0),
        ("sow-l7", "01-31", 240.0), ("sow-l9", "01-31", 240.0), ("sow", "01-31", 80.0),
    ]  # fmt: skip


def test_seedlings_from_flats_are_pricked_out_and_not_thinned() -> None:
    steps = (("emergence", 20, 0), ("pricking-out", 10, 0), ("growing", 100, 0), ("hardening", 30, 0))
    tasks = make_tasks(chains({**LINE, "method": "pricked-out", "seeds_per_cell": 1}, steps=steps))

    found = told(tasks)
    assert ("prick-out", "01-21", 480.0) in found
    assert ("count-growing", "01-31", 12.0) in found  # as they stand in their cells
    assert ("count-emerged", "01-21", None) in found  # nobody planned how many flats
    assert "thin" not in {step for step, _day, _amount in found}


def test_a_phase_that_comes_twice_has_two_tasks() -> None:
    steps = (("cold-stratify", 5, 0), ("warm-stratify", 5, 0), ("cold-stratify", 5, 0), ("emergence", 20, 0))

    found = [step for step, _day, _amount in told(make_tasks(chains(LINE, steps=steps)))]

    assert found[1:4] == ["cold-stratify", "warm-stratify", "cold-stratify-2"]


def test_what_is_sown_already_leaves_work_for_the_rest_of_it() -> None:
    half = make_tasks(chains({**LINE, "share": 0.5}))
    none = make_tasks(chains({**LINE, "share": 0.0}))

    assert ("count-emerged", "02-20", 6.0) in told(half)
    assert ("grade", "07-16", 225.0) in told(half)
    assert [step for step, _day, _amount in told(none)][-1] == "sow-l7"


def test_a_batch_has_what_its_stage_leaves_to_do() -> None:
    batch = {**LINE, "sown": True, "in_cells": True}
    steps = [
        [step for step, _day, _amount in told(make_tasks(chains({**batch, "rank": rank})))] for rank in range(5)
    ]

    assert steps == [
        ["count-emerged", "thin", "count-growing", "count-hardening", "move", "harden", "grade"],
        ["thin", "count-growing", "count-hardening", "move", "harden", "grade"],
        ["count-hardening", "move", "harden", "grade"],
        ["grade"],
        [],
    ]


def test_nothing_to_grow_makes_no_tasks() -> None:
    empty = Chains(
        pd.DataFrame(columns=list(LINE)),
        chains(LINE).phases.iloc[:0],
        pd.DataFrame(columns=["chain", "lot_id", "cells"]),
    )

    assert make_tasks(empty).empty


def test_the_last_day_is_bounded_by_planting_and_before_the_sowing_by_its_months_too() -> None:
    day = np.array(["2028-02-28"] * 3, "datetime64[D]")
    last = latest_days(
        offset=np.array([0, 30, 50]), sow_offset=np.array([30, 30, 30]),
        sow_latest=np.array(["2027-03-31", "2027-03-31", "2027-03-31"], "datetime64[D]"),
        end_offset=np.array([191, 191, 191]), closes=day,
    )  # fmt: skip

    assert last.astype(str).tolist() == ["2027-03-01", "2027-03-31", "2027-10-10"]


def test_nothing_bounds_a_task_without_a_window_and_without_sowing_months() -> None:
    nothing = np.array(["NaT"], "datetime64[D]")

    assert np.isnat(latest_days(np.array([3]), np.array([9]), nothing, np.array([20]), nothing)).all()


def test_feeds_are_one_round_a_fortnight_for_all_trays_of_a_nursery_on_days_that_stay() -> None:
    growing = pd.DataFrame(
        {
            "nursery_id": [1, 1, 2],
            "start": pd.to_datetime(["2027-03-01", "2027-03-20", "2027-03-01"]),
            "end": pd.to_datetime(["2027-04-20", "2027-04-30", "2027-03-10"]),
            "trays": [10, 4, 3],
        }
    )

    found = feeds(growing)
    later = feeds(growing.assign(start=growing["start"] + pd.Timedelta(days=3)))

    assert [(row.nursery_id, f"{row.day:%m-%d %a}", row.trays) for row in found.itertuples()] == [
        (1, "03-22 Mon", 10), (1, "04-05 Mon", 14), (1, "04-19 Mon", 14),
    ]  # fmt: skip
    assert set(later["day"]) <= set(found["day"])


def test_looks_at_seed_are_further_apart_in_the_cold() -> None:
    steps = (("warm-stratify", 29, 0), ("cold-stratify", 29, 0), ("emergence", 20, 0))
    tasks = make_tasks(chains(LINE, steps=steps))
    looks = tasks[tasks["job"] == Job.CHECK]

    assert looks.groupby("phase").size().to_dict() == {"warm-stratify": 4, "cold-stratify": 2}
