"""What a person asks of the look back; nonsense in an address counts as not asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nursery.services.listing import whole


@dataclass(frozen=True, slots=True)
class NextYearQuery:
    """A season, and what is left out of it."""

    season: int | None = None
    #: Key of a species, and name of a rate; empty for all.
    species: str = ""
    rate: str = ""

    @classmethod
    def of(cls, args: Mapping[str, str]) -> NextYearQuery:
        """From what an address carries."""
        try:
            season = whole(args.get("season", ""))
        except ValueError:
            season = None
        species, rate = (args.get(name, "").replace("\0", "")[:80] for name in ("species", "rate"))
        return cls(season, species, rate)

    @property
    def is_narrowed(self) -> bool:
        """Whether anything of the season is left out."""
        return bool(self.species or self.rate)
