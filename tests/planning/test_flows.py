"""Shares through splits and mixes, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from nursery.planning.flows import link_flows, walk_back, walk_on


def test_shares_by_hand() -> None:
    # 3 is 300 of 1 and 100 of 2; 4 was split off 3; 5 is 50 of 4 and 50 of 2.
    flows = link_flows(np.array([3, 3, 4, 5, 5]), np.array([1, 2, 3, 4, 2]), np.array([300.0, 100, 80, 50, 50]))

    assert walk_back(flows, flows.weights({5: 1.0})).tolist() == [0.375, 0.625, 0.5, 0.5, 1.0]
    assert walk_on(flows, flows.weights({1: 1.0})).tolist() == [1.0, 0.0, 0.75, 0.75, 0.375]
    assert flows.is_collected.tolist() == [True, True, False, False, False]
    cut = flows.without_inflow([3])
    assert walk_on(cut, cut.weights({1: 1.0})).tolist() == [1.0, 0.0, 0.0, 0.0, 0.0]


def test_a_lot_that_nothing_flowed_into_is_its_own_origin() -> None:
    none = np.array([], np.int64)
    flows = link_flows(none, none, np.array([]), [7])

    assert walk_back(flows, flows.weights({7: 2.0})).tolist() == [2.0]


def test_a_circle_is_refused() -> None:
    flows = link_flows(np.array([1, 2]), np.array([2, 1]), np.array([1.0, 1.0]))

    with pytest.raises(ValueError, match="flows into itself"):
        walk_back(flows, flows.weights({1: 1.0}))
