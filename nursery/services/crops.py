"""What was taken already of the crop from which a need is to be met."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence

from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Lot
from nursery.services.permits.takings import Taking, read_takings

#: Lots that were collected so long before or after a season are of the same crop; planning default, no source.
AROUND = dt.timedelta(days=60)
#: Kilograms of fruit (or cuttings) by need and population.
Taken = dict[tuple[int, int], float]


def read_taken(session: Session, needs: Sequence[CollectionNeed], population_ids: Iterable[int]) -> Taken:
    """What real lots took from each population in the season of each need, in one query."""
    if not needs:
        return {}
    takings = read_takings(
        session,
        Lot.population_id.in_(sorted(set(population_ids))),
        Lot.collected_on >= min(need.opens_on for need in needs) - AROUND,
        Lot.collected_on <= max(need.closes_on for need in needs) + AROUND,
    )
    by_species: dict[int, list[Taking]] = defaultdict(list)
    for taking in takings:
        by_species[taking.species_id].append(taking)
    found: Taken = defaultdict(float)
    for need in needs:
        for taking in by_species[need.species_id]:
            if need.opens_on - AROUND <= taking.collected_on <= need.closes_on + AROUND:
                found[need.id, taking.population_id] += _amount(need, taking)
    return dict(found)


def _amount(need: CollectionNeed, taking: Taking) -> float:
    """In the unit of the need; seed that was weighed clean is turned into fruit by the yield that the need has."""
    if need.grams is None:
        return taking.pieces
    fruit_of_seed = (need.fruit_kg or 0.0) * 1000 / need.grams if need.grams else 1.0
    return (taking.fruit_mg + (taking.milligrams - taking.fruit_mg) * fruit_of_seed) / 1e6
