"""Sowings reckoned from rates alone: as the plan's own chain has them, and what one wrong rate costs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.again import Asked, Sown, StageRates, cost_of, ready_from, sowing_for
from nursery.planning.assurance import chance
from nursery.planning.cells import filled_cells
from nursery.planning.plan_inputs import RATES, Costs
from nursery.planning.words import Method

COSTS = Costs(0.02, 0.02, 0.15)
MEANS = {
    "germination": 0.8, "emergence": 0.75, "establishment": 0.9, "hardening": 0.95, "cull": 0.1,
    "handling_loss": 0.02,
}  # fmt: skip
share = st.floats(0.05, 0.98)
#: Of rates far below, no number of cells reaches the chance.
usual = st.floats(0.5, 0.98)


def rates_of(means: dict[str, float], *, weight: float = 20.0, survival: float = 1.0) -> StageRates:
    mean = {name: np.array([value]) for name, value in means.items()} | {"field_survival": np.array([survival])}
    return StageRates(mean, {name: np.array([weight]) for name in RATES})


def asked_of(method: Method, plants: float, *, per_cell: int = 0, spare: int = 0, per_tray: int = 40) -> Asked:
    one = np.ones(1, np.int64)
    return Asked(
        np.array([plants]), np.array([str(method)]), np.array([0.8]), one * per_cell, one * 0, one * per_tray,
        one * spare, np.zeros(1, np.bool_),
    )  # fmt: skip


def sown(method: Method, seeds: int, cells: int, per_cell: int) -> Sown:
    return Sown(*(np.array([value]) for value in (str(method), seeds, cells, per_cell)))


@given(
    st.sampled_from(list(Method)), st.integers(1, 400), st.integers(1, 4),
    st.fixed_dictionaries(dict.fromkeys(MEANS, usual)),
)  # fmt: skip
def test_what_is_sown_gives_what_is_wanted_with_the_chance_asked_for(
    method: Method, plants: int, per_cell: int, means: dict[str, float]
) -> None:
    means = {**means, "cull": means["cull"] / 2, "handling_loss": means["handling_loss"] / 2}
    found = sowing_for(asked_of(method, plants, per_cell=per_cell), rates_of(means), COSTS)
    assert found.ready[0] == np.ceil(plants / (1 - means["handling_loss"]) - 1e-9)
    assert found.cells[0] == found.trays[0] * 40
    first = means["germination"] * means["emergence"]
    first = {Method.PRICKED_OUT: 1.0, Method.PRESPROUTED: means["emergence"]}.get(method, first)
    stages = [first, means["establishment"], means["hardening"], 1 - means["cull"]]
    units = found.seeds if method is Method.BAREROOT else found.cells
    assert (
        chance(units, found.ready, [stages], 20.0, seeds_per_cell=np.maximum(found.seeds_per_cell, 1))[0] >= 0.795
    )


def test_spare_trays_come_on_top_and_survivors_ask_for_more_plants() -> None:
    plain = sowing_for(asked_of(Method.DIRECT, 100, per_cell=2), rates_of(MEANS), COSTS)
    spare = sowing_for(asked_of(Method.DIRECT, 100, per_cell=2, spare=3), rates_of(MEANS), COSTS)
    assert (spare.trays - plain.trays).tolist() == [3]
    assert plain.seeds.tolist() == (plain.cells * 2).tolist()
    survivors = sowing_for(asked_of(Method.DIRECT, 100), rates_of(MEANS, survival=0.5), COSTS)
    assert survivors.ready.tolist() == [205]
    nothing = sowing_for(asked_of(Method.DIRECT, 0, spare=3), rates_of(MEANS), COSTS)
    assert (nothing.trays.tolist(), nothing.seeds.tolist()) == ([0], [0])


@pytest.mark.parametrize(
    ("method", "seeds", "cells", "per_cell", "seedlings"),
    [
        (Method.DIRECT, 200, 100, 2, 100 * float(filled_cells(0.6, 2))),
        (Method.CUTTINGS, 100, 100, 1, 60.0),
        (Method.PRESPROUTED, 100, 100, 1, 80 * 0.75),
        (Method.PRESPROUTED, 200, 100, 1, 100 * 0.75),
        (Method.PRICKED_OUT, 200, 100, 1, 100.0),
        (Method.PRICKED_OUT, 100, 100, 1, 60.0),
        (Method.BAREROOT, 500, 0, 0, 300.0),
    ],
)
def test_ready_plants_follow_the_chain_by_hand(
    method: Method, seeds: int, cells: int, per_cell: int, seedlings: float
) -> None:
    found = ready_from(sown(method, seeds, cells, per_cell), rates_of(MEANS).mean)
    assert found[0] == pytest.approx(seedlings * 0.9 * 0.95 * 0.9)


@given(
    st.sampled_from(list(Method)), st.sampled_from([*RATES, "field_survival"]), share, share,
    st.fixed_dictionaries(dict.fromkeys(MEANS, share)),
)  # fmt: skip
def test_a_rate_as_planned_costs_nothing_and_a_better_one_no_plants(
    method: Method, name: str, one: float, other: float, means: dict[str, float]
) -> None:
    worse, better = sorted((one, other), reverse=name in {"cull", "handling_loss"})
    given_rates = rates_of({**means, name: worse} if name in means else means, survival=worse)
    batch = sown(method, 240, 0 if method is Method.BAREROOT else 120, 2)
    same, more = (cost_of(name, np.array([rate]), given_rates, batch)[0] for rate in (worse, better))
    assert same == pytest.approx(0, abs=1e-9)
    assert more >= -1e-9


def test_the_cost_of_a_loss_is_counted_where_the_plants_are() -> None:
    planned, batch = rates_of(MEANS, survival=0.8), sown(Method.CUTTINGS, 100, 100, 1)
    ready = 60 * 0.9 * 0.95 * 0.9
    costs = {name: cost_of(name, np.array([seen]), planned, batch)[0] for name, seen in (
        ("emergence", 0.5), ("cull", 0.2), ("handling_loss", 0.12), ("field_survival", 0.6),
    )}  # fmt: skip
    assert costs == pytest.approx(
        {
            "emergence": -ready / 3, "cull": -ready / 9, "handling_loss": -ready * 0.1,
            "field_survival": -ready * 0.98 * 0.2,
        }
    )  # fmt: skip
