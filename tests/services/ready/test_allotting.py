"""Plants are given away once: first to planned loads, then to the targets their batches were sown for."""

from __future__ import annotations

import datetime as dt
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from nursery.services.ready.allotting import Reserved, Standing, allot
from nursery.services.ready.rows import apportion

SIZES = st.dictionaries(st.sampled_from(["", "1", "2"]), st.integers(0, 200), min_size=1)
TARGETS = st.sampled_from([None, 1, 2, 3])


@st.composite
def a_season(draw: st.DrawFn) -> tuple[list[Standing], list[Reserved], dict[int, int]]:
    batches = [
        Standing(at, draw(TARGETS), draw(TARGETS), draw(st.booleans()), draw(st.none() | st.dates()), draw(SIZES))
        for at in range(draw(st.integers(0, 5)))
    ]
    loads = [
        Reserved(
            draw(st.integers(0, 6)), draw(TARGETS), draw(st.integers(1, 3)), "Bank",
            draw(st.sampled_from(["", "1", "9"])), draw(st.integers(1, 250)),
        )
        for _load in range(draw(st.integers(0, 5)))
    ]  # fmt: skip
    return batches, loads, draw(st.dictionaries(st.sampled_from([1, 2, 3]), st.integers(0, 300)))


@given(a_season())
def test_no_size_of_a_batch_gives_more_than_it_has_and_no_target_gets_more_than_it_asks(
    season: tuple[list[Standing], list[Reserved], dict[int, int]],
) -> None:
    batches, loads, asked = season
    found = allot(batches, loads, asked)
    for batch in batches:
        given_away = found.plants[batch.batch_id]
        assert given_away.keys() == batch.sizes.keys()
        assert all(0 <= given_away[size] <= plants for size, plants in batch.sizes.items())
    assert all(0 <= plants <= asked.get(target, 0) for target, plants in found.targets.items())


@given(a_season())
def test_a_target_lacks_plants_only_where_its_batches_have_none_left(
    season: tuple[list[Standing], list[Reserved], dict[int, int]],
) -> None:
    batches, loads, asked = season
    found = allot(batches, loads, asked)
    left: Counter[int] = Counter()
    for batch in batches:
        if batch.target_id is not None:
            left[batch.target_id] += sum(batch.sizes.values()) - sum(found.plants[batch.batch_id].values())
    for target, plants in asked.items():
        assert found.targets.get(target, 0) == plants or left[target] == 0


@given(st.dictionaries(st.text(max_size=2), st.integers(0, 10_000)), st.integers(0, 20_000))
def test_whole_plants_are_shared_out_and_none_is_lost(weights: dict[str, int], plants: int) -> None:
    shares = apportion(plants, weights)
    whole = sum(weights.values())
    assert sum(shares.values()) == (plants if whole else 0)
    assert all(abs(shares[name] - plants * weight / whole) < 1 for name, weight in weights.items() if whole)
    if plants <= whole:
        assert all(shares[name] <= weight for name, weight in weights.items())


def test_ready_plants_go_before_those_that_still_grow() -> None:
    day = dt.date(2027, 1, 1)
    batches = [Standing(1, 7, 1, False, day, {"": 100}), Standing(2, 7, 1, True, day, {"1": 60, "2": 40})]
    found = allot(batches, [], {7: 120})
    assert found.plants == {1: {"": 20}, 2: {"1": 60, "2": 40}}
    assert found.targets == {7: 120}


def test_a_load_for_the_target_is_part_of_what_it_is_promised() -> None:
    batch = Standing(1, 7, 1, True, None, {"1": 60, "2": 40})
    found = allot([batch], [Reserved(1, 7, 1, "North", "2", 30)], {7: 50})
    # The 20 still lacking come from the 60 and the 10 that are left, in proportion.
    assert found.plants == {1: {"1": 17, "2": 33}}
    assert found.targets == {7: 50}
    assert found.lent == {}


def test_a_load_to_another_site_comes_first_and_is_told() -> None:
    batch = Standing(1, 7, 1, True, None, {"": 100})
    found = allot([batch], [Reserved(1, 8, 2, "South", "", 80)], {7: 50, 8: 80})
    assert found.plants == {1: {"": 100}}
    assert found.targets == {8: 80, 7: 20}
    assert found.lent == {1: {"South": 80}}


def test_a_load_that_asks_for_more_than_there_is_gets_what_there_is() -> None:
    batch = Standing(1, None, None, True, None, {"1": 10, "2": 5})
    found = allot([batch], [Reserved(1, None, 2, "South", "1", 30), Reserved(1, None, 2, "South", "", 30)], {})
    assert found.plants == {1: {"1": 10, "2": 5}}
