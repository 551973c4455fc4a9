"""How many mothers a mixed or split lot is worth, by the bags of the lots it was made of."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.services.bags import NewBag, write_bags
from nursery.services.ledger import mix_lots, split_lot
from nursery.services.mothers import lot_worth

DAY = dt.date(2026, 11, 20)


@pytest.fixture
def bagged(session: Session, maker: Any) -> Any:
    """A lot with bags of these weights in milligrams by tag; pooled where there are none."""

    def make(weights: dict[str, int], **values: Any) -> Lot:
        lot: Lot = maker.lot(mother_plants=len(weights) or 20, **values)
        write_bags(session, "Ana", lot=lot, bags=[NewBag(tag, weight) for tag, weight in weights.items()])
        return lot

    return make


def equal(prefix: str, count: int) -> dict[str, int]:
    return {f"{prefix}{number}": 1000 for number in range(count)}


def mix(session: Session, *amounts: tuple[Lot, int]) -> Lot:
    return mix_lots(session, "Ana", amounts=amounts, happened_on=DAY, today=DAY)


def test_a_mixture_combines_the_mothers_of_its_parts_by_mass(session: Session, maker: Any, bagged: Any) -> None:
    # 60 % of 30 equal mothers and 40 % of 10: 0.36/30 + 0.16/10 = 0.028.
    region = {"region_code": "R1"}
    large = bagged(equal("A", 30), population=maker.population(**region))
    small = bagged(equal("A", 10), population=maker.population(**region))

    worth = lot_worth(session, mix(session, (large, 3000), (small, 2000)))

    assert (worth.mothers, worth.effective) == (40, pytest.approx(1 / 0.028))
    assert [(part.lot.code, part.share, part.effective) for part in worth.parts] == [
        (large.code, pytest.approx(0.6), pytest.approx(30)), (small.code, pytest.approx(0.4), pytest.approx(10)),
    ]  # fmt: skip
    assert worth.sentence == "40 mother plants, worth 35.7 in equal shares: at least 30, enough."
    assert worth.largest_tag == f"A0 ({small.code})"


def test_a_mother_tagged_alike_in_two_years_of_one_population_counts_once(
    session: Session, maker: Any, bagged: Any
) -> None:
    home = maker.population(region_code="R1")
    older = bagged({"T1": 10, "T2": 10}, population=home, ripening_year=2025, collected_on=dt.date(2025, 10, 20))
    newer = bagged({"t1": 30, "T3": 30}, population=home)

    worth = lot_worth(session, mix(session, (older, 1000), (newer, 1000)))

    # T1 gave half, T2 and T3 a quarter each.
    assert (worth.mothers, worth.effective) == (3, pytest.approx(8 / 3))


def test_a_part_keeps_the_mothers_of_its_lot(session: Session, bagged: Any) -> None:
    lot = bagged({"T1": 58, "T2": 3, "T3": 39})
    part = split_lot(session, "Ana", lot=lot, amount=1000, happened_on=DAY, today=DAY)

    assert lot_worth(session, part).effective == pytest.approx(lot_worth(session, lot).effective)
    assert lot_worth(session, part).largest_tag == "T1"


def test_parts_of_one_lot_put_together_again_are_that_lot(session: Session, bagged: Any) -> None:
    lot = bagged({"T1": 58, "T2": 3, "T3": 39})
    parts = [split_lot(session, "Ana", lot=lot, amount=1000, happened_on=DAY, today=DAY) for _number in range(2)]

    whole = mix(session, *((part, 1000) for part in parts))

    assert lot_worth(session, whole).effective == pytest.approx(lot_worth(session, lot).effective)


def test_a_mixture_of_a_mixture_knows_all_mothers(session: Session, bagged: Any, maker: Any) -> None:
    lots = [bagged(equal("A", 10), population=maker.population(region_code="R1")) for _number in range(3)]
    first = mix(session, (lots[0], 1000), (lots[1], 1000))

    worth = lot_worth(session, mix(session, (first, 2000), (lots[2], 1000)))

    assert (worth.mothers, worth.effective) == (30, pytest.approx(30))


def test_a_pooled_part_makes_the_whole_unknown_and_is_named(session: Session, bagged: Any, maker: Any) -> None:
    known = bagged(equal("A", 30), population=maker.population(region_code="R1"))
    pooled = bagged({}, population=maker.population(region_code="R1"))

    worth = lot_worth(session, mix(session, (known, 1000), (pooled, 1000)))

    assert worth.effective is None
    assert worth.sentence == (
        f"How many mothers it is worth is unknown, because no bags were kept apart of {pooled.code}. It is at most"
        " as many as plants were sampled, 50."
    )


def test_bags_of_the_mixture_itself_tell_better(session: Session, bagged: Any, maker: Any) -> None:
    pooled = [bagged({}, population=maker.population(region_code="R1")) for _number in range(2)]
    mixed = mix(session, (pooled[0], 1000), (pooled[1], 1000))
    write_bags(session, "Ana", lot=mixed, bags=[NewBag("T1", 1000), NewBag("T2", 1000)])

    worth = lot_worth(session, mixed)

    assert (worth.effective, worth.parts) == (pytest.approx(2), ())
