"""Calculator for seed in store."""

from __future__ import annotations

from typing import Any

from nursery.i18n import lazy as _l
from nursery.planning.storage import UNIVERSAL_CH, UNIVERSAL_CQ, p50_days, sigma_days, viability_after
from nursery.services.calculators import bounds
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.fields import Fraction, Number
from nursery.services.limits import Bounds


def _run_storage(
    *, moisture_pct: float, temperature_c: float, days: float, viability: float, **constants: float
) -> dict[str, Any]:
    sigma = sigma_days(moisture_pct, temperature_c, **constants)
    half = float(p50_days(viability, sigma))
    return {
        "ki": float(p50_days(viability, 1.0)),
        "sigma_days": float(sigma),
        "p50_days": half,
        "viability_after": float(viability_after(viability, days, sigma)),
    }


_CONSTANT = Bounds(-10, 30)
STORAGE = Calculator(
    name="storage",
    title=_l("Viability in storage"),
    question=_l("How much of a lot will still live after so long in store?"),
    fields=(
        Number(
            "moisture_pct", _l("Moisture content"), unit="%", bounds=Bounds(0.1, 99), help=_l("Of fresh weight.")
        ),
        Number("temperature_c", _l("Temperature"), unit="°C", bounds=Bounds(-40, 100)),
        Number("days", _l("Days in store"), unit="d", bounds=Bounds(0, 1_000_000)),
        Fraction(
            "viability",
            _l("Viability at the start"),
            bounds=bounds.CHANCE,
            help=_l("Above 0 and below 1; no test can show that every seed lives, 0.999 is as good."),
        ),
        Number("ke", _l("Constant KE"), bounds=_CONSTANT),
        Number("cw", _l("Constant CW"), bounds=_CONSTANT),
        Number("ch", _l("Constant CH"), bounds=Bounds(-1, 1), default=UNIVERSAL_CH),
        Number("cq", _l("Constant CQ"), bounds=Bounds(-0.01, 0.01), default=UNIVERSAL_CQ),
    ),
    results=(
        Result("ki", _l("Probit of the viability at the start, Ki"), "number"),
        Result("sigma_days", _l("Days for one probit, σ"), "number", "d"),
        Result("p50_days", _l("Days until half of all seed lives"), "number", "d"),
        Result("viability_after", _l("Viability after storage"), "fraction"),
    ),
    formula=_l(
        "log₁₀ σ = KE − CW·log₁₀(moisture) − CH·t − CQ·t². Viability = normal integral of (Ki − days ÷ σ),"
        " where Ki is the probit of the viability at the start. Half of all seed lives after Ki·σ days;"
        " below 0, it was less already. Outside the moisture and temperature that the constants were"
        " measured in, do not rely on it."
    ),
    source=_l(
        "Ellis & Roberts 1980, Annals of Botany 45:13–30. Universal CH and CQ: Dickie et al. 1990, Annals"
        " of Botany 65:197–204, read second-hand. KE and CW of the example: onion, from memory."
    ),
    run=_run_storage,
    example={"moisture_pct": 8, "temperature_c": 5, "days": 1095, "viability": 0.94, "ke": 6.975, "cw": 3.47},
)
