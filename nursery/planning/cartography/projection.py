"""From longitude and latitude to a sheet and back: the equirectangular projection around the data.

In it the edges of GeoJSON outlines are straight, and it is true to scale along its reference parallel and along
all meridians; over a few hundred kilometres that is as good as any.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats
from nursery.planning.distance import distances

#: A single place is shown with this many degrees around it.
_LEAST_SPAN = 0.05
#: Room around the outermost places, as a share of the sheet.
_MARGIN = 0.08
_NICE = (1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A window on the map: its middle in degrees, units a degree of latitude, and its size in units."""

    latitude: float
    longitude: float
    scale: float
    #: The parallel that is true to scale; it stays when the window moves.
    reference: float
    width: float
    height: float

    @property
    def narrowing(self) -> float:
        """Units a degree of longitude, as a share of those of latitude."""
        return float(np.cos(np.radians(self.reference)))

    def place(self, longitude: ArrayLike, latitude: ArrayLike) -> tuple[Floats, Floats]:
        """Units from the sheet's left and upper edge; shapes broadcast."""
        x = (np.asarray(longitude, np.float64) - self.longitude) * (self.scale * self.narrowing) + self.width / 2
        y = (self.latitude - np.asarray(latitude, np.float64)) * self.scale + self.height / 2
        return x, y

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """West, south, east and north, in degrees."""
        across = self.width / (2 * self.scale * self.narrowing)
        along = self.height / (2 * self.scale)
        return (
            self.longitude - across, self.latitude - along, self.longitude + across, self.latitude + along
        )  # fmt: skip

    def zoomed(self, factor: float, latitude: float | None = None, longitude: float | None = None) -> Sheet:
        """The same sheet at ``factor`` times the scale, around another middle where one is given."""
        return replace(
            self,
            scale=self.scale * factor,
            latitude=self.latitude if latitude is None else latitude,
            longitude=self.longitude if longitude is None else longitude,
        )

    def moved(self, right: float, down: float) -> Sheet:
        """The sheet moved by shares of its own size."""
        west, south, east, north = self.bounds
        return replace(
            self,
            longitude=float(np.clip(self.longitude + right * (east - west), -180, 180)),
            latitude=float(np.clip(self.latitude - down * (north - south), -90, 90)),
        )


def fit(longitude: ArrayLike, latitude: ArrayLike, width: float, height: float) -> Sheet:
    """The sheet that shows all places.

    Parameters
    ----------
    longitude, latitude
        Degrees, shape (n,), at least one place.
    width, height
        Of the sheet, in units.

    Raises
    ------
    ValueError
        Without any place.
    """
    x, y = np.asarray(longitude, np.float64), np.asarray(latitude, np.float64)
    if not x.size:
        raise ValueError("no place to show")
    middle_lat, middle_lon = (float(values.min() + values.max()) / 2 for values in (y, x))
    narrowing = max(float(np.cos(np.radians(middle_lat))), 0.01)
    across = max(float(np.ptp(x)) * narrowing, _LEAST_SPAN)
    along = max(float(np.ptp(y)), _LEAST_SPAN)
    scale = (1 - 2 * _MARGIN) * min(width / across, height / along)
    return Sheet(middle_lat, middle_lon, scale, middle_lat, width, height)


def graticule(sheet: Sheet, lines: int = 5) -> tuple[Floats, Floats, float]:
    """Meridians and parallels across a sheet at round degrees, about ``lines`` of each, and their step."""
    west, south, east, north = sheet.bounds
    step = _nice((north - south) / lines)
    return (
        _multiples(max(west, -180), min(east, 180), step),
        _multiples(max(south, -90), min(north, 90), step),
        step,
    )


def scale_bar(sheet: Sheet, longest: float) -> tuple[float, float]:
    """A round number of metres and its length in units, at most ``longest``, along the sheet's middle parallel."""
    degrees = longest / (sheet.scale * sheet.narrowing)
    latitude = float(np.clip(sheet.latitude, -89, 89))
    metres = float(distances(latitude, 0.0, latitude, min(degrees, 90.0)))
    units = longest * min(degrees, 90.0) / degrees
    round_metres = _nice(metres, down=True)
    return round_metres, units * round_metres / metres


def _nice(value: float, *, down: bool = False) -> float:
    """One, two or five times a power of ten: the next above, or below."""
    power = 10.0 ** np.floor(np.log10(value))
    steps = [float(step * power) for step in (*_NICE, 10.0)]
    if down:
        return max(step for step in steps if step <= value * (1 + 1e-9))
    return min(step for step in steps if step >= value * (1 - 1e-9))


def _multiples(low: float, high: float, step: float) -> Floats:
    count = np.arange(np.ceil(low / step), np.floor(high / step) + 1)
    return np.asarray(np.round(count * step, 9), np.float64)
