"""Other planting days: inside the window, not in the past, with seed that is there and still worth sowing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from nursery.planning.growing.words import STAGES
from nursery.planning.months import mask_of
from nursery.planning.plan_inputs import Protocols
from nursery.planning.space.shifting import Shiftable, Shifts, possible_shifts

EVEN = np.ones(len(STAGES))
MONDAY = np.datetime64("2027-01-04", "D")


def day(text: str) -> np.ndarray:
    return np.array([text], "datetime64[D]")


def protocols(*phases: tuple[str, int], sow_at: int = 0, months: tuple[int, ...] = ()) -> Protocols:
    """One protocol."""
    count = len(phases)
    return Protocols(
        table=pd.DataFrame({"sow_mask": [mask_of(months)]}),
        names=(tuple(name for name, _days in phases),),
        days=np.array([[days for _name, days in phases]]),
        degree_days=np.zeros((1, count)),
        base_c=np.zeros((1, count)),
        sow_at=np.array([sow_at]),
    )


#: A line of 2 m² (0.5 m² of flats), planted on Monday 1 March in a window of nine weeks about it.
LINE = Shiftable(
    line=np.array([7]), protocol_row=np.array([0]), southern=np.array([False]), normals=np.full((1, 12), 15.0),
    plant_on=day("2027-03-01"), opens=day("2027-02-01"), closes=day("2027-03-29"), seed_from=day("NaT"),
    seed_until=day("NaT"), tray_m2=np.array([2.0]), flats_m2=np.array([np.nan]),
)  # fmt: skip
TWO_WEEKS = protocols(("growing", 14))


def shifts(line: Shiftable = LINE, protocol: Protocols = TWO_WEEKS, today: str = "2027-01-04") -> Shifts:
    return possible_shifts(line, protocol, EVEN, today=np.datetime64(today), first=MONDAY, weeks=13)


def test_every_week_of_the_window_but_the_present_one_is_offered() -> None:
    found = shifts()
    assert found.days.tolist() == [-28, -21, -14, -7, 7, 14, 21, 28]
    assert found.line.tolist() == [7] * 8
    assert [str(found.plant_on[0]), str(found.sow_on[0])] == ["2027-02-01", "2027-01-18"]
    assert found.use[0].tolist() == [0.0, 0.0, 2.0, 2.0, *[0.0] * 9]


def test_work_in_the_past_is_not_offered() -> None:
    assert shifts(today="2027-02-16").days.tolist() == [7, 14, 21, 28]


def test_seed_must_be_there_when_work_begins() -> None:
    assert shifts(replace(LINE, seed_from=day("2027-02-25"))).days.tolist() == [14, 21, 28]


def test_seed_must_still_be_worth_sowing() -> None:
    assert shifts(replace(LINE, seed_until=day("2027-02-01"))).days.tolist() == [-28, -21, -14]


def test_sowing_keeps_its_months_and_the_plants_wait_on_the_bench() -> None:
    found = shifts(protocol=protocols(("growing", 14), months=(1,)))
    assert {str(sown) for sown in found.sow_on} == {"2027-01-18", "2027-01-25", "2027-01-31"}
    # Sown on 31 January and planted on 29 March: nine weeks from the one that holds the last day of January.
    assert found.use[-1].tolist() == [*[0.0] * 3, *[2.0] * 9, 0.0]


def test_flats_stand_until_seedlings_are_pricked_out_and_pretreatment_stands_nowhere() -> None:
    steps = protocols(("cold-stratify", 14), ("emergence", 7), ("pricking-out", 7), ("growing", 7), sow_at=1)
    found = shifts(replace(LINE, flats_m2=np.array([0.5])), steps)
    assert found.use[found.days == 7][0].tolist() == [*[0.0] * 6, 0.5, 0.5, 2.0, *[0.0] * 4]


def test_no_lines_have_no_shifts() -> None:
    empty = Shiftable(*(getattr(LINE, name)[:0] for name in LINE.__dataclass_fields__))
    found = shifts(empty)
    assert (len(found.line), found.use.shape) == (0, (0, 13))
