"""What a target must be before it is written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.errors import Invalid
from nursery.i18n import format_date, format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import Site, Species, Target
from nursery.models.targets import TargetBasis
from nursery.services import checking, limits
from nursery.services.seasons import season_name, season_of, season_span
from nursery.services.targets.meaning import wanted_of

BOUNDS = {
    "season": limits.SEASON,
    "plants": limits.PLANTS,
    "density_per_ha": limits.DENSITY_PER_HA,
    "share": limits.POSITIVE_FRACTION,
    "seeds_per_cell": limits.SEEDS_PER_CELL,
    "assurance": limits.CHANCE,
    "priority": limits.PRIORITY,
}
#: A target above this is a slip of the keyboard (common practice: no nursery of this kind grows as many).
MOST_PLANTS = int(limits.PLANTS.high)
#: The columns that each basis uses; the others are emptied.
USED = {
    TargetBasis.PLANTS: ("plants",),
    TargetBasis.DENSITY: ("density_per_ha", "share"),
    TargetBasis.SURVIVORS: ("plants", "survival_year"),
}
_OF_BASES = ("plants", "density_per_ha", "share", "survival_year")


def settled(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values with what does not belong to the basis emptied."""
    used = USED[TargetBasis(values["basis"])]
    return {name: None if name in _OF_BASES and name not in used else value for name, value in values.items()}


def check_target(
    session: Session, values: Mapping[str, Any], *, today: dt.date | None = None, row: Target | None = None
) -> None:
    """Refuse what cannot be, all at once; raises Invalid.

    ``today`` is given where the target is new to its season, unless that is the season ``row`` had before.
    """
    row_id = row.id if row is not None else None
    site = session.get(Site, values["site_id"] or 0)
    species = session.get(Species, values["species_id"] or 0)
    if site is None or species is None:
        raise Invalid({"site_id": _("Name a planting site and a species that are on record.")})
    refused = checking.beyond(values, BOUNDS)
    refused |= _basis(values, site) | _protocol(values, species) | _day(values, site)
    if today is not None and (row is None or row.season != values["season"]):
        refused |= refuse_past_season(values["season"], southern=site.latitude < 0, today=today)
    if not refused and find_twin(session, values, row_id=row_id) is not None:
        refused[""] = _(
            "There is a target for %(species)s at %(site)s in %(season)s already. Change that one instead.",
            species=species.scientific_name,
            site=site.name,
            season=season_name(values["season"]),
        )
    refused |= {name: told for name, told in refuse_replacements(values).items() if name not in refused}
    if refused:
        raise Invalid(refused)


def refuse_replacements(values: Mapping[str, Any]) -> dict[str, str]:
    """Plants that make up for losses are some of the plants wanted; a density says no number of them."""
    replacements, plants = values.get("replacements") or 0, values.get("plants")
    if not replacements or (plants is not None and plants >= replacements):
        return {}
    told = ngettext(
        "%(num)s plant of this target makes up for losses that a survey found. Ask for no fewer, or take it back"
        " where the replacements were proposed.",
        "%(num)s plants of this target make up for losses that a survey found. Ask for no fewer, or take them"
        " back where the replacements were proposed.",
        replacements,
    )
    return {"basis" if values.get("basis") == TargetBasis.DENSITY else "plants": told}


def refuse_past_season(season: int | None, *, southern: bool, today: dt.date) -> dict[str, str]:
    """A target that is new to a season can still be planted in it; targets of old seasons may stay on record."""
    if season is None or not limits.SEASON.holds(season) or season_span(season, southern=southern)[1] >= today:
        return {}
    present = today.year if southern else season_of(today)
    return {
        "season": _(
            "The season %(season)s is over: no plan can reach it any more. Name a coming season, such as"
            " %(coming)s.",
            season=season_name(season),
            coming=season_name(present + 1),
        )
    }


def find_twin(session: Session, values: Mapping[str, Any], *, row_id: int | None = None) -> int | None:
    """The id of another active target for the same site, species and season."""
    keys = ("site_id", "species_id", "season")
    if any(values.get(key) is None for key in keys):
        return None
    with session.no_autoflush:
        return session.scalar(
            select(Target.id).where(
                *(getattr(Target, key) == values[key] for key in keys),
                Target.archived_at.is_(None),
                Target.id != (row_id or 0),
            )
        )


def _basis(values: Mapping[str, Any], site: Site) -> dict[str, str]:
    found = {name: _missing(name) for name in USED[values["basis"]] if values.get(name) is None}
    if values.get("survival_year") not in {None, *limits.SURVIVAL_YEARS}:
        found["survival_year"] = _missing("survival_year")
    if values["basis"] == TargetBasis.DENSITY and site.area_ha is None:
        found["site_id"] = _(
            "%(site)s has no area, which plants per hectare need. Give the site its area, or say how many plants.",
            site=site.name,
        )
    wanted = wanted_of(values, site.area_ha)
    if not found and wanted is not None and wanted.plants > MOST_PLANTS:
        found["density_per_ha" if values["basis"] == TargetBasis.DENSITY else "plants"] = _(
            "%(plants)s plants are more than any target can want (%(most)s). Look at the numbers again.",
            plants=format_number(wanted.plants),
            most=format_number(MOST_PLANTS),
        )
    return found


def _missing(name: str) -> str:
    if name == "plants":
        return _("Say how many plants are wanted.")
    if name == "density_per_ha":
        return _("Say how many plants of all species are wanted on a hectare.")
    if name == "share":
        return _("Say which share of the mix this species has; 100 percent when it stands alone.")
    return _("Say after how many years they should be alive: 1 or 3.")


def _protocol(values: Mapping[str, Any], species: Species) -> dict[str, str]:
    wanted, entry = values.get("protocol"), load_catalog().species.get(species.key)
    if not wanted or (entry is not None and wanted in {protocol.key for protocol in entry.protocols}):
        return {}
    return {
        "protocol": _(
            "%(species)s has no protocol “%(protocol)s”. Choose one of its own from the list.",
            species=species.scientific_name,
            protocol=wanted,
        )
    }


def _day(values: Mapping[str, Any], site: Site) -> dict[str, str]:
    day, season = values.get("plant_on"), values["season"]
    if day is None or season is None or not limits.SEASON.holds(season):
        return {}
    first, last = season_span(season, southern=site.latitude < 0)
    if first <= day <= last:
        return {}
    return {
        "plant_on": _(
            "%(day)s is not in the season %(season)s, which runs from %(first)s to %(last)s. Correct the day or"
            " the season.",
            day=format_date(day),
            season=season_name(season),
            first=format_date(first),
            last=format_date(last),
        )
    }
