"""The optimiser against flows in a network, where nothing about a draw is whole.

Without least draws, shares, caps and mothers, and with one plant a seed, the problem is a transport: source →
lot → line → sink. networkx solves it by other means (preflow push, network simplex, in whole numbers).
"""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery.planning.allocation import Problem, allocate
from tests.planning.allocation.cases import by_turn, holdings, needs, pairs, problem

bounded = settings(max_examples=6, deadline=None, derandomize=True)
seeds_of_chance = st.integers(0, 10_000)


def transport(rng: np.random.Generator, lines: int, lots: int, density: float = 0.1) -> Problem:
    """A random transport of a few hundred pairs; about three quarters of the needs can be met."""
    line, lot = np.nonzero(rng.random((lines, lots)) < density)
    return problem(
        needs(rng.integers(20, 400, lines).tolist(), turn=rng.integers(1, 4, lines).tolist()),
        holdings(rng.integers(10, 300, lots).tolist()),
        pairs(
            line.tolist(), lot.tolist(),
            cautions=rng.integers(0, 3, line.size), distance_m=rng.integers(0, 500, line.size) * 100.0,
        ),
    )  # fmt: skip


def network(case: Problem, weight: np.ndarray, lines: np.ndarray) -> nx.DiGraph:
    """The flow network of some of the lines; ``weight`` is what a plant of each pair costs."""
    graph = nx.DiGraph()
    graph.add_nodes_from(["source", "sink"])
    for lot, held in enumerate(case.holdings.seeds):
        graph.add_edge("source", ("lot", lot), capacity=int(held), weight=0)
    for line in lines:
        graph.add_edge(("line", int(line)), "sink", capacity=int(case.needs.plants[line]), weight=0)
    for line, lot, cost in zip(case.pairs.line, case.pairs.lot, weight, strict=True):
        if line in lines:
            graph.add_edge(("lot", int(lot)), ("line", int(line)), weight=int(cost))
    return graph


def filled_by_flow(case: Problem) -> list[float]:
    """Most plants turn by turn: what more the network carries once the lines of a turn are let in.

    The sets of lines that can be filled from the lots are a polymatroid, so that the first turns give up nothing
    when later ones come in: the greatest flow of all turns so far less that of the turns before.
    """
    free = np.zeros(len(case.pairs))
    carried = [
        nx.maximum_flow_value(network(case, free, np.flatnonzero(case.needs.turn <= turn)), "source", "sink")
        for turn in np.unique(case.needs.turn)
    ]
    return np.diff([0, *carried]).tolist()


def least_cost(case: Problem, weight: np.ndarray) -> int:
    """Least cost among the fills that are greatest."""
    graph = network(case, weight, np.arange(len(case.needs)))
    return int(nx.cost_of_flow(graph, nx.max_flow_min_cost(graph, "source", "sink")))


@bounded
@given(seeds_of_chance)
def test_every_turn_is_filled_as_far_as_the_greatest_flow_fills_it(seed: int) -> None:
    case = transport(np.random.default_rng(seed), 30, 25)

    found = allocate(case, workers=1)

    assert found.gap.max() == 0
    # Every turn may slip by 1e-5 of all needs when it is held.
    room = 3e-5 * case.needs.plants.sum()
    assert by_turn(case, found.plants) == pytest.approx(filled_by_flow(case), abs=room)


@bounded
@given(seeds_of_chance)
def test_the_greatest_fill_is_under_as_few_cautions_as_the_cheapest_flow(seed: int) -> None:
    rng = np.random.default_rng(seed)
    whole = transport(rng, 24, 20)
    case = Problem(needs(whole.needs.plants.tolist()), whole.holdings, whole.pairs)

    plants = allocate(case, workers=1).plants

    cautions = float((plants * case.pairs.cautions).sum())
    # Plants short by what the fill may slip could save two cautions each, and cautions slip themselves.
    assert cautions == pytest.approx(least_cost(case, case.pairs.cautions), abs=1e-4 * case.needs.plants.sum())


@bounded
@given(seeds_of_chance)
def test_where_every_fill_takes_as_many_draws_the_nearest_is_the_cheapest_flow(seed: int) -> None:
    """Lots and needs of one size: each draw fills a line, so that no fill takes fewer draws than it has lines."""
    rng = np.random.default_rng(seed)
    lines, lots, size = 20, 26, 50.0
    line, lot = np.nonzero(rng.random((lines, lots)) < 0.3)
    way = rng.integers(1, 500, line.size) * 100.0
    case = problem(
        needs([size] * lines), holdings([size] * lots), pairs(line.tolist(), lot.tolist(), distance_m=way)
    )
    parts = [case.part(at) for at in _apart(case)]

    for part in parts:
        found = allocate(part, gap=0, workers=1)
        carried = float(found.plants.sum())
        assert np.count_nonzero(found.plants) == round(carried / size)
        assert carried == pytest.approx(sum(filled_by_flow(part)), abs=1e-3 * size)
        reached = float((found.plants * part.pairs.distance_m).sum())
        assert reached == pytest.approx(least_cost(part, part.pairs.distance_m), rel=1e-3)


def _apart(case: Problem) -> list[np.ndarray]:
    """Connected parts after networkx."""
    graph = nx.Graph()
    graph.add_edges_from(
        (("line", line), ("lot", lot)) for line, lot in zip(case.pairs.line, case.pairs.lot, strict=True)
    )
    return [
        np.flatnonzero([("line", line) in nodes for line in case.pairs.line])
        for nodes in nx.connected_components(graph)
    ]


@bounded
@given(seeds_of_chance)
def test_parts_are_the_connected_components_of_the_graph(seed: int) -> None:
    case = transport(np.random.default_rng(seed), 12, 12, density=0.08)
    found = allocate(case, workers=1).part

    wanted = sorted(tuple(at.tolist()) for at in _apart(case))
    assert sorted(tuple(np.flatnonzero(found == part).tolist()) for part in np.unique(found)) == wanted
