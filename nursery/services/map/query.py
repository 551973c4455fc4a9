"""What a person asks of the map."""

from __future__ import annotations

from dataclasses import dataclass

#: Doublings of the scale; at the last a sheet of the demo is a few metres wide.
MOST_ZOOM = 16.0


@dataclass(frozen=True, slots=True)
class MapQuery:
    """The window, None for all of the data, and what the lines of allocation are narrowed to."""

    latitude: float | None = None
    longitude: float | None = None
    #: Doublings of the scale at which everything fits.
    zoom: float = 0.0
    #: Key of a species.
    species: str = ""
    season: int | None = None
    #: Code of a site, and of a lot.
    site: str = ""
    lot: str = ""

    @property
    def narrows_lines(self) -> bool:
        """Whether anything but the window is asked for."""
        return bool(self.species or self.season is not None or self.site or self.lot)
