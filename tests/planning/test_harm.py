"""Recalcitrant seed that froze or dried counts as dead until a later test finds it alive."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from nursery.planning.harm import harm_of

LOT: dict[str, Any] = {
    "recalcitrant": True, "temperature_c": 3.0, "moisture_pct": 42.0, "stored_on": "2026-11-01",
    "moisture_on": "2026-11-01", "harmed_on": "NaT", "proven_on": "2026-10-20",
}  # fmt: skip


def harm(**changed: Any) -> str:
    lot = {**LOT, **changed}
    days = {name: np.array([lot.pop(name)], "datetime64[D]") for name in list(lot) if name.endswith("_on")}
    (found,) = harm_of(np.array([lot.pop("recalcitrant")]), **{k: np.array([v]) for k, v in lot.items()}, **days)
    return str(found)


def test_seed_that_is_kept_as_its_class_asks_is_not_harmed() -> None:
    assert harm() == ""


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        ({"temperature_c": -18.0}, "frozen"),
        ({"moisture_pct": 20.0}, "dried"),
        ({"harmed_on": "2026-10-25"}, "before"),
        ({"temperature_c": -18.0, "moisture_pct": 20.0, "harmed_on": "2026-10-25"}, "frozen"),
    ],
)
def test_frost_drought_and_an_earlier_place_kill(changed: dict[str, Any], found: str) -> None:
    assert harm(**changed) == found


@pytest.mark.parametrize(
    "changed", [{"temperature_c": -18.0}, {"moisture_pct": 20.0}, {"harmed_on": "2026-11-01"}]
)
@pytest.mark.parametrize(
    ("proven_on", "is_alive"), [("2026-10-31", False), ("2026-11-01", False), ("2026-11-02", True), ("NaT", False)]
)
def test_only_a_test_from_afterwards_shows_that_it_lives(
    changed: dict[str, Any], proven_on: str, is_alive: bool
) -> None:
    assert (harm(**changed, proven_on=proven_on) == "") == is_alive


def test_other_classes_take_frost_and_drought() -> None:
    assert harm(recalcitrant=False, temperature_c=-18.0, moisture_pct=5.0, harmed_on="2026-11-01") == ""


def test_what_is_not_recorded_kills_nothing() -> None:
    assert harm(temperature_c=np.nan, moisture_pct=np.nan) == ""


def test_a_touch_of_frost_does_not_freeze_seed() -> None:
    assert (harm(temperature_c=-1.0), harm(temperature_c=-1.1)) == ("", "frozen")
