"""Bags of single mothers and what a lot is worth by them."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Bag, Change
from nursery.models.bags import Sex
from nursery.models.lots import Material
from nursery.services.bags import NewBag, list_bags, write_bags
from nursery.services.mothers import worth_of


def bags_of(*weights: int) -> list[NewBag]:
    return [NewBag(f"T{number}", weight) for number, weight in enumerate(weights, start=1)]


def test_one_mother_of_40_percent_makes_thirty_worth_five_point_eight(session: Session, maker: Any) -> None:
    """Worked example of the shared reference: Σp² = 0.16 + 29·(0.6/29)² = 0.1724 (derived)."""
    lot = maker.lot(mother_plants=30)
    kept = write_bags(session, "Ana", lot=lot, bags=bags_of(580_000, *[30_000] * 29))

    worth = worth_of(lot, kept)

    assert worth.balance is not None
    assert worth.effective == pytest.approx(1 / (0.16 + 0.36 / 29))
    assert float(worth.balance.largest_share) == pytest.approx(0.4)
    assert (worth.largest and worth.largest.tag, worth.tone) == ("T1", "stop")
    assert worth.sentence == "30 mother plants, worth 5.8 in equal shares: below 15, too few."


@pytest.mark.parametrize(
    ("mothers", "tone"), [(14, "stop"), (15, "caution"), (29, "caution"), (30, "ok"), (50, "ok")]
)
def test_the_tone_follows_the_effective_mothers(session: Session, maker: Any, mothers: int, tone: str) -> None:
    lot = maker.lot()

    worth = worth_of(lot, write_bags(session, "Ana", lot=lot, bags=bags_of(*[1000] * mothers)))

    assert (worth.effective, worth.tone) == (pytest.approx(mothers), tone)


def test_a_pooled_bag_says_that_the_balance_is_unknown(maker: Any) -> None:
    worth = worth_of(maker.lot(mother_plants=32), [])

    assert (worth.effective, worth.tone) == (None, "waiting")
    assert worth.sentence == (
        "Pooled bag: the balance is unknown; at most as many effective mothers as plants sampled, 32."
    )
    few = worth_of(maker.lot(mother_plants=12), [])
    assert few.tone == "stop"
    assert few.sentence.endswith("plants sampled, 12. That is below the least of 30.")
    assert worth_of(maker.lot(mother_plants=None), []).sentence == (
        "Bags were not kept apart and plants not counted: how many mothers it is worth is unknown."
    )


def test_cuttings_of_one_sex_have_no_future_together(session: Session, maker: Any) -> None:
    lot = maker.lot(pieces=400, material=Material.CUTTINGS)
    males = [NewBag(f"M{number}", 20_000, sex=Sex.MALE) for number in range(3)]
    females = [NewBag(f"F{number}", 20_000, sex=Sex.FEMALE) for number in range(9)]

    both = worth_of(lot, write_bags(session, "Ana", lot=lot, bags=[*males, *females])).balance
    one = worth_of(lot, write_bags(session, "Ana", lot=lot, bags=females)).balance

    assert both is not None
    assert one is not None
    assert float(both.status_number_high) == pytest.approx(4 * 3 * 9 / 12)
    assert float(one.status_number_high) == 0


def test_writing_bags_again_replaces_them_and_keeps_the_history(session: Session, maker: Any) -> None:
    lot = maker.lot(mother_plants=None)
    write_bags(session, "Ana", lot=lot, bags=bags_of(1000, 2000))
    write_bags(session, "Rui", lot=lot, bags=bags_of(3000))

    assert [(bag.tag, bag.weight_mg) for bag in list_bags(session, lot)] == [("T1", 3000)]
    assert lot.mother_plants == 2
    told = session.scalars(select(Change.details).where(Change.action == "bags").order_by(Change.id)).all()
    assert told == [{"bags": ["", "T1 1; T2 2 (g)"]}, {"bags": ["T1 1; T2 2 (g)", "T1 3 (g)"]}]


def test_who_saw_an_older_lot_does_not_overwrite_the_bags_of_another(session: Session, maker: Any) -> None:
    lot = maker.lot()
    seen = lot.version
    write_bags(session, "Ana", lot=lot, bags=bags_of(1000), version=seen)

    with pytest.raises(Conflict):
        write_bags(session, "Rui", lot=lot, bags=bags_of(2000), version=seen)

    assert [bag.weight_mg for bag in session.scalars(select(Bag))] == [1000]


@pytest.mark.parametrize(
    ("bags", "told"),
    [
        ([NewBag("", 5)], "Row 1: The tag is missing."),
        ([NewBag("a", 5), NewBag("A", 5)], "Row 2: The tag “A” is there twice."),
        ([NewBag("a", 0)], "Row 1: The weight lies above 0 and up to a tonne (cuttings: a million)."),
        ([NewBag("a", 5, 40.0)], "Row 1: Give both latitude and longitude, or neither."),
        ([NewBag("a" * 41, 5)], "Row 1: The tag is longer than 40 characters."),
        ([NewBag(str(number), 5) for number in range(501)], "501 bags are too many; at most 500 fit."),
        (bags_of(1, 1, 1, 1), "4 bags, but only 3 plants were present. Correct one of the two."),
    ],
)
def test_bags_that_cannot_be_are_refused_in_words(
    session: Session, maker: Any, bags: list[NewBag], told: str
) -> None:
    with pytest.raises(Invalid) as refused:
        write_bags(session, "Ana", lot=maker.lot(plants_present=3), bags=bags)

    assert refused.value.errors == {"rows": told}
    assert session.scalars(select(Bag)).all() == []


def test_a_position_off_the_globe_is_refused(session: Session, maker: Any) -> None:
    with pytest.raises(Invalid, match="Row 1: "):
        write_bags(session, "Ana", lot=maker.lot(), bags=[NewBag("a", 5, 140.0, 200.0)])
