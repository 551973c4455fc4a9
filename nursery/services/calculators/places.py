"""Calculator for distance on the ground."""

from __future__ import annotations

from typing import Any

from nursery.errors import Invalid
from nursery.i18n import lazy as _l
from nursery.planning.distance import distances
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Items
from nursery.services.calculators.fields import Number
from nursery.services.limits import Bounds, refuse_coordinates

_DEGREES = Number("degrees", _l("Degrees"), unit="°", bounds=Bounds(-180, 180))


def _run_distance(*, from_: list[float], to: list[float]) -> dict[str, Any]:
    errors = {}
    for name, point in (("from", from_), ("to", to)):
        refused = refuse_coordinates(*point)
        if refused:
            errors[name] = " ".join(refused.values())
    if errors:
        raise Invalid(errors)
    return {"metres": float(distances(*from_, *to))}


DISTANCE = Calculator(
    name="distance",
    title=_l("Distance between two places"),
    question=_l("How far apart are a stand and a planting site?"),
    fields=(
        Items("from", _l("From: latitude, longitude"), unit="°", item=_DEGREES, least=2, most=2),
        Items("to", _l("To: latitude, longitude"), unit="°", item=_DEGREES, least=2, most=2),
    ),
    results=(Result("metres", _l("Distance"), "number", "m"),),
    formula=_l("Length of the shortest line on the WGS 84 ellipsoid."),
    source=_l("Karney's geodesic algorithm, as in PROJ."),
    run=_run_distance,
    example={"from": [40.118, -7.342], "to": [39.876, -7.505]},
)
