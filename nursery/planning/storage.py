"""What seed in store is still worth: the improved viability equation, and a plain half-life form.

v = Ki − p ÷ σ in probits, log10 σ = KE − CW·log10 m − CH·t − CQ·t² (m % of fresh weight, t °C, σ days):
Ellis & Roberts 1980, *Annals of Botany* 45:13–30. Universal CH and CQ: Dickie, Ellis, Kraak, Ryder & Tompsett
1990, *Annals of Botany* 65:197–204, read second-hand.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, amount, fraction
from nursery.planning.heavy import special

UNIVERSAL_CH = 0.0329
UNIVERSAL_CQ = 0.000478
#: Less than one seed in a million million: none.
NONE = 1e-12
#: A test cannot tell full viability from this, and its probit is finite.
NEARLY_ALL = 0.999


def sigma_days(
    moisture_pct: ArrayLike,
    temperature_c: ArrayLike,
    *,
    ke: ArrayLike,
    cw: ArrayLike,
    ch: ArrayLike = UNIVERSAL_CH,
    cq: ArrayLike = UNIVERSAL_CQ,
) -> Floats:
    """Days in which viability falls by one probit.

    Parameters
    ----------
    moisture_pct : array_like
        Moisture content, % of fresh weight, above 0.
    temperature_c : array_like
        Storage temperature, °C.
    ke, cw, ch, cq : array_like
        Species constants of the equation.

    Raises
    ------
    ValueError
        For a moisture content of 0 or below.
    """
    wet = np.log10(amount("moisture_pct", moisture_pct, positive=True))
    t = np.asarray(temperature_c, dtype=np.float64)
    exponent = np.asarray(ke) - np.asarray(cw) * wet - np.asarray(ch) * t - np.asarray(cq) * t**2
    return np.asarray(10.0**exponent, dtype=np.float64)


def viability_after(viability: ArrayLike, days: ArrayLike, sigma: ArrayLike) -> Floats:
    """Viability after days in store, Φ(Φ⁻¹(v0) − days ÷ σ).

    Parameters
    ----------
    viability : array_like
        Fraction viable when storage began, 0–1; 0 stays 0 and 1 stays 1, their probits being infinite.
    days : array_like
        Days in store; at 0 or below viability is what it was.
    sigma : array_like
        Days per probit, above 0 (see `sigma_days`).

    Raises
    ------
    ValueError
        For a viability outside 0–1 or σ of 0 or below.
    """
    v0 = fraction("viability", viability)
    elapsed = np.maximum(np.asarray(days, dtype=np.float64), 0.0) / amount("sigma", sigma, positive=True)
    return np.where(elapsed > 0, special.ndtr(special.ndtri(v0) - elapsed), v0)


def p50_days(viability: ArrayLike, sigma: ArrayLike) -> Floats:
    """Days until half of all seed lives, Ki·σ; negative where it is below half already, infinite for 1."""
    return np.asarray(special.ndtri(fraction("viability", viability)) * amount("sigma", sigma, positive=True))


def life_viability(v0: ArrayLike, days: ArrayLike, life_days: ArrayLike) -> Floats:
    """Viability after days in store where only the life in store is known, not the equation's constants.

    The same probit line, with its σ set so that exactly half of ``v0`` is left after ``life_days``:
    σ = life ÷ (Φ⁻¹(v0) − Φ⁻¹(v0 ÷ 2)). Own convention; the shape is that of Ellis & Roberts 1980.

    Parameters
    ----------
    v0 : array_like
        Fraction viable at the test, 0–1. For the shape, more than 0.999 counts as 0.999.
    days : array_like
        Days since the test; at 0 or below the answer is ``v0``.
    life_days : array_like
        Days after which half of ``v0`` is left, above 0; infinite for seed that does not age.

    Raises
    ------
    ValueError
        For a viability outside 0–1 or a life of 0 or below.
    """
    start, life = np.broadcast_arrays(fraction("v0", v0), amount("life_days", life_days, positive=True))
    alive = start > NONE
    ki = special.ndtri(np.where(alive, np.minimum(start, NEARLY_ALL), 0.5))
    slope = (ki - special.ndtri(np.where(alive, start, 0.5) / 2)) / life
    elapsed = np.maximum(np.asarray(days, dtype=np.float64), 0.0)
    return np.where(alive & (elapsed > 0), np.minimum(special.ndtr(ki - elapsed * slope), start), start)
