"""The calculator of origin: nested objects in, verdict and reasons out."""

from __future__ import annotations

from typing import Any

import pytest

from nursery.errors import Invalid
from nursery.planning.origin.defaults import DEFAULT_RULES
from nursery.services.calculators import calculate

LOT = {
    "species": "Alnus glutinosa", "latitude": 40.0, "longitude": -6.0, "elevation_m": 400, "region_code": "R-1",
    "basin": "Alva", "status": "autochthonous", "effective_mothers": 40, "largest_family": 0.04,
}  # fmt: skip
SITE = {
    "species": "Alnus glutinosa", "latitude": 40.1, "longitude": -6.0, "elevation_m": 380, "region_code": "R-1",
    "basin": "Alva",
}  # fmt: skip


def judged(lot: dict[str, Any], site: dict[str, Any], rules: Any = None) -> tuple[str, dict[str, str]]:
    found = calculate("origin", {"lot": {**LOT, **lot}, "site": {**SITE, **site}, "rules": rules})
    return found["verdict"], {one["rule"]: one["verdict"] for one in found["reasons"] if one["verdict"] != "pass"}


@pytest.mark.parametrize(
    ("lot", "site", "rules", "verdict", "against"),
    [
        ({}, {}, None, "pass", {}),
        ({"elevation_m": 720}, {}, None, "stop", {"elevation": "stop"}),
        ({"elevation_m": 720}, {}, {"elevation": {"stop": 400}}, "caution", {"elevation": "caution"}),
        ({"elevation_m": 720}, {}, {"elevation": None}, "pass", {}),
        (
            {"elevation_m": 720},
            {},
            '{"elevation": {"caution": 100, "stop": 340}}',
            "caution",
            {"elevation": "caution"},
        ),
        ({"species": "Alnus lusitanica"}, {}, None, "stop", {"species": "stop"}),
        ({"species": " alnus Glutinosa"}, {}, None, "pass", {}),
        ({"species": ""}, {}, None, "stop", {"species": "stop"}),
        ({"basin": "Brenha"}, {"region_code": None}, None, "stop", {"basin": "stop"}),
        ({"region_code": "R-2"}, {}, None, "stop", {"region": "stop"}),
        ({"region_code": "R-2"}, {"strategy": "composite"}, None, "caution", {"region": "caution"}),
        ({"is_held": True}, {}, None, "stop", {"permit": "stop"}),
        ({"effective_mothers": None, "most_mothers": 9}, {}, None, "stop", {"mothers": "stop"}),
        ({"status": "unknown"}, {"native_only": True}, None, "stop", {"status": "stop"}),
    ],
)
def test_a_lot_is_judged_at_a_site(
    lot: dict[str, Any], site: dict[str, Any], rules: Any, verdict: str, against: dict[str, str]
) -> None:
    assert judged(lot, site, rules) == (verdict, against)


def test_reasons_come_worst_first_with_found_limit_and_basis() -> None:
    found = calculate("origin", {"lot": {**LOT, "elevation_m": 720, "basin": "Brenha"}, "site": SITE})

    assert found["reasons"][:2] == [
        {
            "rule": "elevation", "verdict": "stop", "found": 340.0, "limit": 300.0,
            "basis": DEFAULT_RULES["elevation"]["basis"],
        },
        {
            "rule": "basin", "verdict": "caution", "found": "Brenha", "limit": "Alva",
            "basis": DEFAULT_RULES["basin"]["basis"],
        },
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        (
            {"rules": {"elevation": {"caution": 500}}},
            "rules",
            (
                "elevation.caution: Elevation: caution above 500 lies beyond stop above 300, so that caution could"
                " never be given. Write at most 300 for caution, or raise the stop."
            ),
        ),
        ({"rules": "[1"}, "rules", "This is no JSON: Expecting ',' delimiter: line 1 column 3 (char 2)."),
        ({"rules": 7}, "rules", "7 is not an object."),
        ({"lot": {"latitude": 40.0}}, "lot", "Give both latitude and longitude, or neither."),
        ({"lot": {"elevation": 3}}, "lot", "elevation: There is no field “elevation” here. “elevation_m” may be"),
        ({"site": {"latitude": -95, "longitude": 40}}, "site", "latitude: -95 is out of range."),
        ({"site": None}, "site", "“site” is missing. Give: The site."),
    ],
)
def test_what_cannot_be_is_refused_by_field(change: dict[str, Any], field: str, message: str) -> None:
    with pytest.raises(Invalid) as refused:
        calculate("origin", {"lot": LOT, "site": SITE, **change})

    assert list(refused.value.errors) == [field]
    assert refused.value.errors[field].startswith(message)
