"""What a person can ask “what if” about: species with open targets, and what may be otherwise."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.catalog.vocabulary import protocol_label
from nursery.i18n import format_number
from nursery.models import Container, Nursery, Site, Species, Target
from nursery.services.seasons import season_name, season_of
from nursery.services.targets import wanted_of

#: Seasons offered ahead, as on the form of targets.
SEASONS = 5

Choices = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Offered:
    """A species' open targets, and the containers, protocols and seasons to choose from."""

    species: Species
    targets: Sequence[tuple[int, str]]
    containers: Choices
    protocols: Choices
    seasons: Choices


def species_offered(session: Session) -> Choices:
    """Key and name of every species with an open target."""
    rows = session.execute(
        select(Species.key, Species.scientific_name)
        .where(Species.id.in_(_open(select(Target.species_id))))
        .order_by(Species.scientific_name)
    )
    return [(key, name) for key, name in rows]


def offered(session: Session, key: str, *, today: dt.date) -> Offered | None:
    """What there is to choose for a species; None for one without open targets."""
    species = session.scalar(select(Species).where(Species.key == key))
    if species is None:
        return None
    found = session.execute(
        _open(select(Target, Site)).where(Target.species_id == species.id).order_by(Target.season, Site.name)
    ).all()
    if not found:
        return None
    entry = load_catalog().species.get(species.key)
    containers = session.execute(
        select(Container.id, Container.name, Nursery.name)
        .join(Nursery, Container.nursery_id == Nursery.id)
        .where(Container.archived_at.is_(None))
        .order_by(Nursery.name, Container.name)
    )
    first = season_of(today)
    return Offered(
        species=species,
        targets=[(target.id, _label(target, site)) for target, site in found],
        containers=[(str(key), f"{name} ({nursery})") for key, name, nursery in containers],
        protocols=[(one.key, protocol_label(one.name)) for one in entry.protocols] if entry else [],
        seasons=[(str(season), season_name(season)) for season in range(first, first + SEASONS)],
    )


def _open(query: Any) -> Any:
    return query.join(Site, Target.site_id == Site.id).where(
        Target.archived_at.is_(None), Site.archived_at.is_(None)
    )


def _label(target: Target, site: Site) -> str:
    wanted = wanted_of(vars(target), site.area_ha)
    plants = format_number(wanted.plants) if wanted else ""
    return ", ".join(part for part in (site.name, season_name(target.season), plants) if part)
