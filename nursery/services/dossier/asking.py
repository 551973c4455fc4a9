"""What a dossier is about, and how it is told."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from nursery.planning.generalising import Told, generalise


class Basis(StrEnum):
    """Which plants (or seed) a share is of."""

    PLANTED = "planted"
    SENT = "sent"
    GROWING = "growing"
    PLANNED = "planned"
    LOT = "lot"


@dataclass(frozen=True, slots=True)
class Asked:
    """One site or one lot, of one season or of all; by whom and on which day."""

    day: dt.date
    person: str
    site_id: int | None = None
    lot_id: int | None = None
    season: int | None = None
    #: Tell sensitive stands as exactly as they are known.
    exact: bool = False
    #: Leave the names of people out.
    anonymous: bool = False

    def name(self, person: str) -> str:
        """A person as the dossier tells them."""
        return "" if self.anonymous else person

    def place(self, latitude: float, longitude: float, *, sensitive: bool) -> Told:
        """A place as the dossier tells it."""
        if sensitive and not self.exact:
            return generalise(latitude, longitude)
        return Told(latitude, longitude, None)
