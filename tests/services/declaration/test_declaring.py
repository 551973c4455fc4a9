"""The yearly declaration: its campaigns together are what the ledgers say, species by species."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Lot, Movement, PlantMovement, Species
from nursery.models.batches import PlantMovementKind
from nursery.models.movements import Measure, MovementKind
from nursery.planning.mixing import Category
from nursery.services.batches.sums import plant_sums
from nursery.services.declaration import COLUMNS, campaigns, declare
from nursery.services.ledger import reverse_act, take_from_lot

TODAY = dt.date(2026, 11, 25)


def test_all_campaigns_together_are_the_ledgers(demo_session: Session) -> None:
    declared: Counter[str] = Counter()
    by_species: Counter[str] = Counter()
    for campaign in campaigns(demo_session):
        for line in declare(demo_session, campaign):
            declared.update(line.sums)
            by_species[line.species] += line.sums["plants_dispatched"]
    sums = plant_sums(demo_session).values()

    assert declared["plants_raised"] == sum(one.counted for one in sums)
    assert declared["plants_lost"] == sum(one.lost for one in sums)
    assert declared["plants_dispatched"] == sum(one.dispatched for one in sums)
    assert declared["seed_sown"] == -_ledger(demo_session, MovementKind.WITHDRAWN)
    assert declared["seed_given"] == -_ledger(demo_session, MovementKind.GIVEN)
    came = (MovementKind.COLLECTED, MovementKind.OPENING, MovementKind.EXTRACTED)
    assert declared["seed_collected"] == sum(_ledger(demo_session, kind) for kind in came)
    sent = demo_session.execute(
        select(Species.scientific_name, -func.sum(PlantMovement.change))
        .join(Batch, PlantMovement.batch_id == Batch.id)
        .join(Species, Batch.species_id == Species.id)
        .where(PlantMovement.kind.in_([PlantMovementKind.DISPATCHED, PlantMovementKind.RETURNED]))
        .group_by(Species.scientific_name)
    )
    assert {name: many for name, many in by_species.items() if many} == {row[0]: row[1] for row in sent if row[1]}


def _ledger(session: Session, kind: MovementKind) -> int:
    """Sum of a kind in clean seed, what was taken back left out."""
    back = session.scalars(select(Movement.reverses_id).where(Movement.kind == MovementKind.REVERSAL)).all()
    total = session.scalar(
        select(func.sum(Movement.change)).where(
            Movement.kind == kind, Movement.measure == Measure.SEED, Movement.id.not_in(back)
        )
    )
    return int(total or 0)


def test_lines_are_by_species_category_and_region_and_say_which_are_on_the_list(
    session: Session, maker: Any
) -> None:
    oaks = maker.population(region_code="R-1", category=Category.SELECTED)
    thorns = maker.population(species=maker.species("crataegus-monogyna"), region_code="R-2")
    for place in (oaks, oaks, thorns):
        maker.lot(population=place, amount_mg=2_000_000)

    lines = declare(session, 2026)

    assert [(line.species, line.category, line.region, line.sums["seed_collected"]) for line in lines] == [
        ("Crataegus monogyna", Category.SOURCE_IDENTIFIED, "R-2", 2_000_000),
        ("Quercus suber", Category.SELECTED, "R-1", 4_000_000),
    ]
    assert [bool(line.regulated) for line in lines] == [False, True]
    assert set(lines[0].sums) == {key for key, _label, _weight in COLUMNS}


def test_what_is_taken_back_counts_against_what_it_took_back(session: Session, maker: Any) -> None:
    lot: Lot = maker.lot()
    gift = take_from_lot(
        session, "Ana", lot=lot, kind=MovementKind.GIVEN, measure=Measure.SEED, amount=1000, reason="Rui",
        happened_on=TODAY, today=TODAY,
    )  # fmt: skip
    before = declare(session, 2026)[0].sums["seed_given"]
    reverse_act(session, "Ana", act=gift.act, reason="Wrong lot", today=TODAY)

    assert (before, declare(session, 2026)[0].sums["seed_given"]) == (1000, 0)


def test_a_campaign_in_which_nothing_happened_has_no_line(session: Session, maker: Any) -> None:
    assert campaigns(session) == []
    maker.lot()
    assert campaigns(session) == [2026]
    assert declare(session, 2020) == []
