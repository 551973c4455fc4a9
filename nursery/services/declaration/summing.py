"""Sums of both ledgers over a campaign, by species, category and region of provenance.

A campaign runs from July to June, as seasons do (our choice; the authority names its own days). What was taken
back counts on the day on which it was taken back, with the sign that undoes it, so that all campaigns together are
the ledgers.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased, joinedload

from nursery.catalog.law import Regulated
from nursery.catalog.law_reading import load_law
from nursery.i18n import lazy as _l
from nursery.models import Batch, Lot, Movement, PlantMovement, Species
from nursery.models.batches import PlantMovementKind
from nursery.models.movements import Measure, MovementKind
from nursery.planning.mixing import Category
from nursery.services.batches.origins import batch_lots
from nursery.services.papers.consignments import plant_names
from nursery.services.preferences import read_preferences
from nursery.services.seasons import season_of, season_span

#: What is declared: key, words, and whether it is a weight in milligrams.
COLUMNS = (
    ("fruit_collected", _l("Fruit collected"), True),
    ("seed_collected", _l("Seed collected or extracted"), True),
    ("seed_sown", _l("Seed sown"), True),
    ("seed_given", _l("Seed given"), True),
    ("pieces_collected", _l("Pieces collected"), False),
    ("pieces_sown", _l("Pieces sown or set"), False),
    ("pieces_given", _l("Pieces given"), False),
    ("plants_raised", _l("Plants raised"), False),
    ("plants_lost", _l("Plants lost"), False),
    ("plants_dispatched", _l("Plants dispatched"), False),
)
#: What a kind of movement of a measure counts as, and the sign that makes it positive.
_SEED = {
    (Measure.FRUIT, MovementKind.COLLECTED): ("fruit_collected", 1),
    (Measure.FRUIT, MovementKind.OPENING): ("fruit_collected", 1),
    (Measure.SEED, MovementKind.COLLECTED): ("seed_collected", 1),
    (Measure.SEED, MovementKind.OPENING): ("seed_collected", 1),
    (Measure.SEED, MovementKind.EXTRACTED): ("seed_collected", 1),
    (Measure.SEED, MovementKind.WITHDRAWN): ("seed_sown", -1),
    (Measure.SEED, MovementKind.GIVEN): ("seed_given", -1),
    (Measure.PIECES, MovementKind.COLLECTED): ("pieces_collected", 1),
    (Measure.PIECES, MovementKind.OPENING): ("pieces_collected", 1),
    (Measure.PIECES, MovementKind.EXTRACTED): ("pieces_collected", 1),
    (Measure.PIECES, MovementKind.WITHDRAWN): ("pieces_sown", -1),
    (Measure.PIECES, MovementKind.GIVEN): ("pieces_given", -1),
}
_PLANTS = {
    PlantMovementKind.COUNTED: ("plants_raised", 1),
    PlantMovementKind.LOST: ("plants_lost", -1),
    PlantMovementKind.DISPATCHED: ("plants_dispatched", -1),
    PlantMovementKind.RETURNED: ("plants_dispatched", -1),
}
Key = tuple[str, Category, str]


@dataclass
class Declared:
    """One line: a species, the lowest category and the regions of its lots, and the sums."""

    species: str
    category: Category
    region: str
    regulated: Regulated | None
    sums: dict[str, int] = field(
        default_factory=lambda: dict.fromkeys([key for key, _label, _weight in COLUMNS], 0)
    )


def campaigns(session: Session) -> list[int]:
    """Campaigns in which anything happened, newest first."""
    spans = [
        session.execute(select(func.min(model.happened_on), func.max(model.happened_on))).one()
        for model in (Movement, PlantMovement)
    ]
    days = [day for span in spans for day in span if day is not None]
    return list(range(season_of(max(days)), season_of(min(days)) - 1, -1)) if days else []


def declare(session: Session, campaign: int) -> list[Declared]:
    """The lines of a campaign by species, category and region; lines of zeros are left out."""
    first, last = season_span(campaign)
    seed = _seed_sums(session, first, last)
    plants = _plant_sums(session, first, last)
    lots_of = batch_lots(session, plants)
    wanted = set(seed) | {lot_id for found in lots_of.values() for lot_id in found}
    lots = _lots(session, wanted)
    species_of = _species_of(session, plants)
    lines: dict[Key, Declared] = {}
    country, law = read_preferences(session).country, load_law()

    def line(species: Species, found: Iterable[Lot]) -> Declared:
        key = (species.scientific_name, *_identity(found))
        if key not in lines:
            lines[key] = Declared(*key, law.regulated(plant_names(species), country, last))
        return lines[key]

    for lot_id, sums in seed.items():
        _add(line(lots[lot_id].species, [lots[lot_id]]).sums, sums)
    for batch_id, sums in plants.items():
        _add(line(species_of[batch_id], [lots[lot_id] for lot_id in lots_of[batch_id]]).sums, sums)
    return [lines[key] for key in sorted(lines) if any(lines[key].sums.values())]


def _seed_sums(session: Session, first: dt.date, last: dt.date) -> Mapping[int, dict[str, int]]:
    undone = aliased(Movement)
    kind = func.coalesce(undone.kind, Movement.kind)
    query: Any = (
        select(Movement.lot_id, Movement.measure, kind, func.sum(Movement.change))
        .outerjoin(undone, Movement.reverses_id == undone.id)
        .where(Movement.happened_on.between(first, last))
        .group_by(Movement.lot_id, Movement.measure, kind)
    )
    found: dict[int, dict[str, int]] = defaultdict(dict)
    for lot_id, measure, of_kind, change in session.execute(query):
        if named := _SEED.get((Measure(measure), MovementKind(of_kind))):
            _add(found[lot_id], {named[0]: named[1] * int(change)})
    return found


def _plant_sums(session: Session, first: dt.date, last: dt.date) -> Mapping[int, dict[str, int]]:
    undone = aliased(PlantMovement)
    kind = func.coalesce(undone.kind, PlantMovement.kind)
    query: Any = (
        select(PlantMovement.batch_id, kind, func.sum(PlantMovement.change))
        .outerjoin(undone, PlantMovement.reverses_id == undone.id)
        .where(PlantMovement.happened_on.between(first, last))
        .group_by(PlantMovement.batch_id, kind)
    )
    found: dict[int, dict[str, int]] = defaultdict(dict)
    for batch_id, of_kind, change in session.execute(query):
        if named := _PLANTS.get(PlantMovementKind(of_kind)):
            _add(found[batch_id], {named[0]: named[1] * int(change)})
    return found


def _add(into: dict[str, int], sums: Mapping[str, int]) -> None:
    for key, value in sums.items():
        into[key] = into.get(key, 0) + value


def _identity(lots: Iterable[Lot]) -> tuple[Category, str]:
    """The lowest category and the regions; plants of no known lot count as the lowest, of no region."""
    places = [lot.population for lot in lots]
    found = {place.category for place in places}
    category = next((one for one in Category if one in found), Category.SOURCE_IDENTIFIED)
    return category, " / ".join(sorted({place.region_code for place in places if place.region_code}))


def _lots(session: Session, ids: set[int]) -> dict[int, Lot]:
    rows = session.scalars(
        select(Lot).where(Lot.id.in_(ids)).options(joinedload(Lot.population), joinedload(Lot.species))
    )
    return {lot.id: lot for lot in rows}


def _species_of(session: Session, batch_ids: Iterable[int]) -> dict[int, Species]:
    rows = session.execute(
        select(Batch.id, Species).join(Species, Batch.species_id == Species.id).where(Batch.id.in_(set(batch_ids)))
    )
    return {row[0]: row[1] for row in rows}
