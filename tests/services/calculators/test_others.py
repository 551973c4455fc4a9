"""What the other calculators refuse across fields, and numbers worked by hand."""

from __future__ import annotations

from typing import Any

import pytest

from nursery.errors import Invalid
from nursery.services.calculators import calculate
from nursery.services.calculators.seed import SEED_LOT
from tests.services.calculators.inputs import GOOD


@pytest.mark.parametrize(
    ("name", "changed", "field"),
    [
        ("moisture", {"fresh_g": 4}, "fresh_g"),
        ("moisture", {"dry_g": 11}, "dry_g"),
        ("moisture", {"dry_g": 4}, "dry_g"),
        ("germination-test", {"counts": [101, 90]}, "counts"),
        ("germination-test", {"counts": [90]}, "counts"),
        ("seed-weight", {"replicates_g": [0.2]}, "replicates_g"),
        ("seed-weight", {"replicates_g": [0.2, 0]}, "replicates_g"),
        ("storage", {"viability": 1}, "viability"),
        ("storage", {"viability": 0}, "viability"),
        ("storage", {"moisture_pct": 0}, "moisture_pct"),
        ("schedule", {"plant_on": "2027-02-30"}, "plant_on"),
        ("schedule", {"plant_on": 20271115}, "plant_on"),
        ("schedule", {"phases": []}, "phases"),
        ("schedule", {"phases": [{"name": "cold", "days": 10, "months": [13]}]}, "phases"),
        ("schedule", {"phases": [{"name": "cold", "days": 10, "months": []}]}, "phases"),
        ("schedule", {"phases": [{"name": "cold", "days": -1}]}, "phases"),
        ("schedule", {"phases": [{"name": "cold"}]}, "phases"),
        ("schedule", {"phases": [{"name": " ", "days": 1}]}, "phases"),
        ("schedule", {"phases": [{"name": "cold", "days": 1, "weeks": 2}]}, "phases"),
        ("assurance", {"stages": []}, "stages"),
        ("assurance", {"stages": [{"mean": 0.5}]}, "stages"),
        ("assurance", {"stages": [{"mean": 0.5, "weight": 0}]}, "stages"),
        ("assurance", {"stages": [{"mean": 0, "weight": 10}]}, "assurance"),
        ("assurance", {"assurance": 1}, "assurance"),
        ("mothers", {"weights": [0, 0]}, "weights"),
        ("mothers", {"weights": [-1, 2]}, "weights"),
        ("mothers", {"kind": "graft"}, "kind"),
        ("mothers", {"sexes": ["male"]}, "sexes"),
        ("mothers", {"sexes": ["male", "female", "both"]}, "sexes"),
        ("distance", {"from": [91, 0]}, "from"),
        ("distance", {"to": [38.7]}, "to"),
        ("distance", {"to": [38.7, -9.1, 3]}, "to"),
        ("distance", {"from": [-120, 37]}, "from"),
        ("inventory", {"sampled_fraction": 0.1}, "frame_size"),
        ("inventory", {"frame_size": None}, "frame_size"),
        ("inventory", {"frame_size": 3}, "frame_size"),
        ("inventory", {"sample_counts": [5]}, "sample_counts"),
        ("survival", {"alive": 101}, "alive"),
        ("survival", {"planted": 0}, "planted"),
        ("collection", {"extraction_yield": 0}, "extraction_yield"),
        ("cell-fill", {"seeds_per_cell": 1.5}, "seeds_per_cell"),
    ],
)
def test_values_that_do_not_go_together_are_refused(name: str, changed: dict[str, Any], field: str) -> None:
    with pytest.raises(Invalid) as refused:
        calculate(name, {**GOOD[name], **changed})

    assert list(refused.value.errors) == [field]


def test_coordinates_that_look_swapped_are_said_so() -> None:
    with pytest.raises(Invalid, match="swapped"):
        calculate("distance", {"from": [-120, 37], "to": [37, -8]})


def test_a_wrong_item_is_found_by_its_place() -> None:
    with pytest.raises(Invalid, match="Number 2: days: -1 is out of range"):
        calculate(
            "schedule",
            {"plant_on": "2027-11-15", "phases": [{"name": "a", "days": 1}, {"name": "b", "days": -1}]},
        )


def test_the_schedule_shows_the_wait_on_the_phase_that_waits() -> None:
    found = calculate("schedule", GOOD["schedule"])

    assert found["start"] == "2027-02-17"
    assert found["phases"][1] == {
        "name": "emergence", "start": "2027-03-31", "end": "2027-05-19", "wait_days": 29,
    }  # fmt: skip


def test_storage_by_hand() -> None:
    # log10 σ = 6.975 − 3.47·0.69897 − 0.0329·5 − 0.000478·25 = 4.373124; Ki = 1.64485
    found = calculate("storage", GOOD["storage"])

    assert found["ki"] == pytest.approx(1.644854, abs=5e-7)
    assert found["sigma_days"] == pytest.approx(10**4.373124, rel=1e-5)
    assert found["p50_days"] == pytest.approx(found["ki"] * found["sigma_days"])


def test_the_lot_of_the_willan_example_gives_36_000_seedlings_a_kilogram() -> None:
    # Willan 1985, A Guide to Forest Seed Handling, ch. 9: purity 90 % × germination 80 % of 50,000 seeds per kg.
    assert calculate("seed-lot", GOOD["seed-lot"]) == {
        "pure_live_seed": pytest.approx(0.72),
        "seeds_per_kg": pytest.approx(50_000),
        "viable_seeds_per_kg": pytest.approx(36_000),
    }


def test_each_figure_of_a_seed_lot_names_its_base() -> None:
    assert [str(result.label) for result in SEED_LOT.results] == [
        "Pure live seed, of the weight of the lot",
        "Seeds in a kg of pure seed",
        "Seeds that germinate in a kg of the lot",
    ]


def test_lists_may_be_typed_as_text() -> None:
    assert calculate("germination-test", {"counts": "85 90; 88, 81"}) == calculate(
        "germination-test", GOOD["germination-test"]
    )


def test_a_list_of_one_value_is_told_in_the_singular() -> None:
    with pytest.raises(Invalid) as refused:
        calculate("distance", {"from": [40.0], "to": [41.0, -8.0]})
    assert refused.value.errors == {"from": "The list holds 1 value. Give 2."}


def test_a_fraction_sampled_is_as_good_as_the_number_of_trays() -> None:
    counts = GOOD["inventory"]["sample_counts"]

    assert calculate("inventory", {"sample_counts": counts, "sampled_fraction": "2 %"}) == pytest.approx(
        calculate("inventory", GOOD["inventory"])
    )
