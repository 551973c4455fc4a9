"""The contract of all calculators: names in, names out, and every refusal."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery.errors import Invalid, NotFound
from nursery.services.calculators import CALCULATORS, calculate, find_calculator
from tests.services.calculators.inputs import GOOD

#: DESIGN §5 and issue 4: names in (those with a default in brackets) and out.
CONTRACT = {
    "cell-fill": ("germination seeds_per_cell", "filled empty multiple"),
    "sowing": (
        (
            "plants method germination [emergence] [establishment] [hardening] [cull] [handling_loss]"
            " [field_survival] [seeds_per_cell] [cells_per_tray] [tsw_g] [purity] [spare_trays] [cost_seed]"
            " [cost_thin] [cost_cell]"
        ),
        "plants_to_plant ready_plants seedlings cells trays cells_sown seeds_per_cell seeds grams",
    ),
    "bed-sowing": (
        "density_per_m2 germination purity tsw_g survival area_m2",
        "seeds_per_m2 grams_per_m2 grams",
    ),
    "seed-lot": ("purity germination tsw_g", "pure_live_seed seeds_per_kg viable_seeds_per_kg"),
    "seed-weight": ("replicates_g [seeds_per_replicate] [chaffy]", "tsw_g sd_g cv_pct accepted"),
    "germination-test": (
        "counts [seeds_per_replicate]",
        "mean_pct range_pct tolerance_pct accepted low_pct high_pct",
    ),
    "moisture": ("empty_g fresh_g dry_g", "moisture_pct"),
    "storage": (
        "moisture_pct temperature_c days viability ke cw [ch] [cq]",
        "ki sigma_days p50_days viability_after",
    ),
    "schedule": ("plant_on phases", "phases start"),
    "assurance": ("wanted assurance stages [seeds_per_cell]", "start expected p10 p90 probability"),
    "mothers": ("weights kind [sexes]", "effective_mothers largest_share status_number_low status_number_high"),
    "distance": ("from to", "metres"),
    "collection": (
        "seeds tsw_g purity extraction_yield fruit_kg_per_mother [max_share]",
        "clean_g fruit_kg mothers",
    ),
    "inventory": (
        "sample_counts [sampled_fraction] [frame_size] [precision] [confidence]",
        "total low high samples_needed",
    ),
    "survival": ("alive planted [confidence]", "rate low high"),
    "origin": ("lot site [rules]", "verdict reasons"),
}

every_calculator = pytest.mark.parametrize("name", CONTRACT)


def refusal(name: str, payload: Any) -> dict[str, str]:
    with pytest.raises(Invalid) as refused:
        calculate(name, payload)
    return refused.value.errors


def test_the_registry_holds_those_of_the_design() -> None:
    assert list(CALCULATORS) == list(CONTRACT)


@every_calculator
def test_fields_and_results_bear_the_names_of_the_contract(name: str) -> None:
    described = find_calculator(name).describe()
    names = [one["name"] if one["required"] else f"[{one['name']}]" for one in described["fields"]]

    assert " ".join(names) == CONTRACT[name][0]
    assert " ".join(one["name"] for one in described["results"]) == CONTRACT[name][1]


@every_calculator
def test_a_good_input_gives_every_result_as_plain_json(name: str) -> None:
    found = calculate(name, GOOD[name])

    assert " ".join(found) == CONTRACT[name][1]
    assert json.loads(json.dumps(found, allow_nan=False)) == found


@every_calculator
def test_every_calculator_explains_itself(name: str) -> None:
    described = find_calculator(name).describe()

    assert json.loads(json.dumps(described, allow_nan=False)) == described
    assert all(described[part].strip() for part in ("title", "formula", "source"))
    assert all(one["label"] for one in [*described["fields"], *described["results"]])


@every_calculator
def test_each_required_field_is_missed_by_name(name: str) -> None:
    required = [one for one in CONTRACT[name][0].split() if not one.startswith("[")]

    errors = refusal(name, {})

    assert list(errors) == required
    assert all("missing" in message for message in errors.values())


@every_calculator
def test_a_field_that_is_null_or_blank_counts_as_missing(name: str) -> None:
    first = CONTRACT[name][0].split()[0]

    assert list(refusal(name, {**GOOD[name], first: None})) == [first]
    assert list(refusal(name, {**GOOD[name], first: " "})) == [first]


@every_calculator
def test_an_unknown_field_is_named_and_the_near_one_offered(name: str) -> None:
    first = CONTRACT[name][0].split()[0]
    errors = refusal(name, {**GOOD[name], f"{first}x": 1, "zzzzzz": 1})

    assert list(errors) == [f"{first}x", "zzzzzz"]
    assert f"“{first}” may be meant" in errors[f"{first}x"]
    assert first in errors["zzzzzz"]


@every_calculator
@pytest.mark.parametrize("wrong", [True, {"a": 1}, math.nan, math.inf, -math.inf, 10**400, -1e300, "many"])
def test_no_field_takes_a_wrong_kind_of_value(name: str, wrong: Any) -> None:
    for field in GOOD[name]:
        if (field, wrong) == ("chaffy", True):
            continue
        assert list(refusal(name, {**GOOD[name], field: wrong})) == [field]


@every_calculator
@pytest.mark.parametrize("payload", [None, [], "text", 3, True])
def test_an_input_that_is_no_object_is_refused(name: str, payload: Any) -> None:
    assert "braces" in refusal(name, payload)["input"]


def test_an_unknown_calculator_is_named_and_the_near_one_offered() -> None:
    with pytest.raises(NotFound, match=r"“sowin”\. Use one of: sowing\."):
        calculate("sowin", {})


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


def names_answered(name: str, payload: dict[str, Any]) -> set[str]:
    """Names of the results, or of the fields refused; nothing else may come out."""
    try:
        found = calculate(name, payload)
    except Invalid as refused:
        return set(refused.errors)
    return set(json.loads(json.dumps(found, allow_nan=False)))


@settings(max_examples=250, deadline=None)
@given(data=st.data(), name=st.sampled_from(list(CONTRACT)))
def test_no_input_breaks_a_calculator(data: st.DataObject, name: str) -> None:
    fields = [one.strip("[]") for one in CONTRACT[name][0].split()]
    changed = data.draw(st.dictionaries(st.sampled_from(fields), json_values, max_size=3))

    answered = names_answered(name, {**GOOD[name], **changed})

    assert answered == set(CONTRACT[name][1].split()) or set() < answered <= set(fields)


@settings(max_examples=250, deadline=None)
@given(data=st.data(), name=st.sampled_from(list(CONTRACT)))
def test_no_number_inside_its_bounds_breaks_a_calculator(data: st.DataObject, name: str) -> None:
    fields = find_calculator(name).describe()["fields"]
    changed: dict[str, Any] = {}
    for field in fields:
        if field["kind"] in {"number", "fraction"}:
            ends = {"exclude_min": field["above"], "exclude_max": field["below"]}
            changed[field["name"]] = data.draw(st.floats(field["minimum"], field["maximum"], **ends))
        elif field["kind"] in {"whole", "whole-or-auto"}:
            changed[field["name"]] = data.draw(st.integers(int(field["minimum"]), int(field["maximum"])))

    answered = names_answered(name, {**GOOD[name], **changed})

    assert answered == set(CONTRACT[name][1].split()) or set() < answered <= {one["name"] for one in fields}
