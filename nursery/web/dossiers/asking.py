"""What an address asks of a dossier."""

from __future__ import annotations

from dataclasses import dataclass

from flask import request

from nursery.services.dossier.asking import Asked
from nursery.services.dossier.packing import LICENCES
from nursery.web.discretion import sees_private
from nursery.web.session import actor, today


@dataclass(frozen=True, slots=True)
class Wishes:
    """As they stand in the form."""

    season: int | None
    exact: bool
    anonymous: bool
    licence: str
    contributors: str

    def kept(self) -> dict[str, str]:
        """For addresses that ask for the same."""
        ticks = {"exact": self.exact, "anonymous": self.anonymous}
        kept = {"licence": self.licence, "contributors": self.contributors}
        kept |= {name: "1" for name, ticked in ticks.items() if ticked}
        if self.season is not None:
            kept["season"] = str(self.season)
        return {name: value for name, value in kept.items() if value}


def read_wishes() -> Wishes:
    """What is understood of the present address."""
    season = request.args.get("season", "")
    licence = request.args.get("licence", "")
    return Wishes(
        season=int(season) if season.isascii() and season.isdigit() and 1900 <= int(season[:9]) <= 2200 else None,
        exact=request.args.get("exact") == "1" and sees_private(),
        anonymous=request.args.get("anonymous") == "1" or not sees_private(),
        licence=licence if licence in LICENCES else "",
        contributors=request.args.get("contributors", "").replace("\0", "").strip()[:400],
    )


def asked_of(wishes: Wishes, *, site_id: int | None = None, lot_id: int | None = None) -> Asked:
    """The dossier of a site or a lot, made today by whoever acts."""
    return Asked(
        today(), actor(), site_id=site_id, lot_id=lot_id, season=wishes.season, exact=wishes.exact,
        anonymous=wishes.anonymous,
    )  # fmt: skip
