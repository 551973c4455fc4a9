"""Degrees as passport data write them."""

from __future__ import annotations


def latitude_dms(degrees: float, *, coarse: bool = False) -> str:
    """``DDMMSSH``; seconds that are not known are hyphens."""
    return _dms(degrees, 2, "NS", coarse=coarse)


def longitude_dms(degrees: float, *, coarse: bool = False) -> str:
    """``DDDMMSSH``."""
    return _dms(degrees, 3, "EW", coarse=coarse)


def _dms(degrees: float, digits: int, hemispheres: str, *, coarse: bool) -> str:
    hemisphere = hemispheres[0] if degrees >= 0 else hemispheres[1]
    # Rounded once, to whole seconds or minutes, so that sixty of them become one of the next.
    minutes, seconds = divmod(round(abs(degrees) * 60) * 60 if coarse else round(abs(degrees) * 3600), 60)
    whole, minutes = divmod(minutes, 60)
    return f"{whole:0{digits}d}{minutes:02d}{'--' if coarse else f'{seconds:02d}'}{hemisphere}"
