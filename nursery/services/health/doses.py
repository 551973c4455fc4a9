"""How much of a product a dose means, where the dose says what it is a dose of."""

from __future__ import annotations

import re
from dataclasses import dataclass

#: “ml per l”, “g/m²”, “l per ha”, “ml per 10 l”, “kg/1000 m2”; so labels write them.
_DOSE = re.compile(
    r"(?P<unit>[^\W\d_]+)\s*(?:/|per)\s*(?P<many>\d+(?:[.,]\d+)?)?\s*(?P<of>l|m2|m²|ha)", re.IGNORECASE
)
_SQUARE_METRES = {"m2": 1.0, "m²": 1.0, "ha": 10_000.0}
#: What small units are summed in.
_LARGER = {"ml": ("l", 1000.0), "g": ("kg", 1000.0), "l": ("l", 1.0), "kg": ("kg", 1.0)}


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount of a product, in litres or kilograms."""

    value: float
    unit: str


def amount_used(dose: float, dose_unit: str, *, area_m2: float | None, water_l: float | None) -> Amount | None:
    """Dose times the water or the area it was meant for; None where the unit or that measure is not known."""
    read = _DOSE.fullmatch(dose_unit.strip())
    if read is None or (unit := read["unit"].lower()) not in _LARGER:
        return None
    of = read["of"].lower()
    measure = water_l if of == "l" else area_m2 and area_m2 / _SQUARE_METRES[of]
    if not measure:
        return None
    many = float(read["many"].replace(",", ".")) if read["many"] else 1.0
    if not many:
        return None
    larger, divisor = _LARGER[unit]
    return Amount(dose * measure / many / divisor, larger)
