"""Mixing recorded lots: the table's verdict in words, the new lot, and whose seed is in it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.models.places import IndigenousStatus
from nursery.planning.mixing import Basic, Category, Rule, Status
from nursery.services import ledger

ANA = "Ana Seabra"
#: Where the six-row table is written.
SOURCE = "(RD 289/2003 art. 9(3); Directive 1999/105/EC art. 13)"


@pytest.fixture
def when(today: dt.date) -> dict[str, Any]:
    return {"happened_on": dt.date(2026, 11, 20), "today": today}


@pytest.fixture
def stand(maker: Any) -> Any:
    def make(**values: Any) -> Any:
        return maker.population(
            **{"region_code": "R1", "indigenous_status": IndigenousStatus.INDIGENOUS, **values}
        )

    return make


def test_lots_of_two_populations_become_one_and_stay_readable(
    session: Session, maker: Any, stand: Any, when: dict[str, Any]
) -> None:
    one = maker.lot(population=stand(), mother_plants=30, germination=0.8, purity=1.0, tsw_g=2.0,
                    tested_on=dt.date(2026, 11, 1))  # fmt: skip
    two = maker.lot(population=stand(), mother_plants=12, germination=0.4, purity=1.0, tsw_g=2.0,
                    tested_on=dt.date(2026, 11, 5))  # fmt: skip

    proposal = ledger.judge_lots(session, [one, two])
    mixed = ledger.mix_lots(session, ANA, amounts=[(one, 100_000), (two, 300_000)], **when)

    assert (proposal.verdict.rules, proposal.verdict.needs_certificate) == ((Rule.UNITS, Rule.REGION_CODE), True)
    assert proposal.verdict.status is Status.INDIGENOUS
    assert (mixed.amount_mg, one.amount_mg, two.amount_mg) == (400_000, 400_000, 200_000)
    assert ledger.lot_shares(session, mixed) == {two: 0.75, one: 0.25}
    assert (mixed.population_id, mixed.mother_plants) == (two.population_id, 42)
    assert (mixed.germination, mixed.tested_on) == (pytest.approx(0.5), dt.date(2026, 11, 1))
    assert ledger.lot_descendants(session, one) == [mixed]
    assert ledger.wrong_balances(session) == []


def test_years_of_one_population_are_as_old_as_the_oldest(
    session: Session, maker: Any, stand: Any, when: dict[str, Any]
) -> None:
    place = stand(region_code="")
    old = maker.lot(population=place, collected_on=dt.date(2025, 10, 12), ripening_year=2025, mother_plants=20)
    new = maker.lot(population=place, mother_plants=25)

    mixed = ledger.mix_lots(session, ANA, amounts=[(new, 100_000), (old, 100_000)], **when)

    assert (mixed.ripening_year, mixed.collected_on, mixed.mother_plants) == (2025, old.collected_on, 25)
    years = {one.lot.ripening_year: one.share for one in ledger.lot_origins(session, [mixed])[mixed.id]}
    assert years == {2025: 0.5, 2026: 0.5}


def refusals(session: Session, *lots: Lot) -> list[str]:
    return list(ledger.judge_lots(session, lots).refusals)


def test_every_refusal_is_in_words_with_its_source(session: Session, maker: Any, stand: Any) -> None:
    base = maker.lot(population=stand())
    elsewhere = maker.lot(population=stand(region_code="R2"))
    nowhere = maker.lot(population=stand(code="P-900", region_code=""))
    unknown = maker.lot(population=stand(indigenous_status=IndigenousStatus.UNKNOWN))
    older = maker.lot(population=stand(), collected_on=dt.date(2025, 10, 12), ripening_year=2025)
    other = maker.lot(population=stand(species=maker.species("quercus-ilex")))

    assert refusals(session, base, elsewhere) == [
        (
            "Lots of different populations are mixed only within one region of provenance; these are of R1, R2."
            f" {SOURCE}"
        )
    ]
    assert refusals(session, base, nowhere) == [
        (
            "Lots of different populations are mixed only within one region of provenance; it is not written"
            f" down for P-900. {SOURCE}"
        )
    ]
    assert refusals(session, base, unknown) == [
        (
            "Autochthonous or indigenous material is never mixed with material that is non-indigenous or of"
            f" unknown origin; these are indigenous, of unknown origin. {SOURCE}"
        )
    ]
    assert refusals(session, base, older) == [
        (
            "Different ripening years are mixed only within one population; these are of 2025, 2026 and of several"
            f" populations. {SOURCE}"
        )
    ]
    assert refusals(session, base, other) == [
        f"A lot is of one species; these are of Quercus ilex, Quercus suber. {SOURCE}"
    ]


def test_what_the_records_say_stands_against_a_mixture_too(session: Session, maker: Any, stand: Any) -> None:
    place = stand()
    base = maker.lot(population=place)
    counted = maker.lot(population=place, pieces=50)
    cuttings = maker.lot(population=place, pieces=50, material=Material.CUTTINGS)
    held = maker.lot(population=place, code="L/held", is_held=True)

    assert refusals(session, base) == ["Choose at least two different lots."]
    assert refusals(session, base, base) == ["Choose at least two different lots."]
    assert refusals(session, base, counted) == [
        "One lot is kept in grams and another in pieces. Weigh or count all of them alike first."
    ]
    assert refusals(session, counted, cuttings) == ["Seed and cuttings are not mixed."]
    assert refusals(session, base, held) == [
        "L/held is on hold because no permit covers it. Have it released before mixing it."
    ]


def test_no_rule_is_got_around_in_two_steps(
    session: Session, maker: Any, stand: Any, when: dict[str, Any]
) -> None:
    place = stand()
    old = maker.lot(population=place, collected_on=dt.date(2025, 10, 12), ripening_year=2025)
    new = maker.lot(population=place)
    neighbour = maker.lot(population=stand(), collected_on=dt.date(2025, 10, 12), ripening_year=2025)
    both_years = ledger.mix_lots(session, ANA, amounts=[(old, 1000), (new, 1000)], **when)

    with pytest.raises(Invalid) as refused:
        ledger.mix_lots(session, ANA, amounts=[(both_years, 1000), (neighbour, 1000)], **when)

    assert refused.value.errors == {
        "lots": "Different ripening years are mixed only within one population; these are of 2025, 2026 and of"
        f" several populations. {SOURCE}"
    }


def test_too_much_of_one_parent_leaves_everything_as_it_was(
    session: Session, maker: Any, stand: Any, when: dict[str, Any]
) -> None:
    one, two = maker.lot(population=stand()), maker.lot(population=stand(), amount_mg=10)

    with pytest.raises(Invalid) as refused:
        ledger.mix_lots(session, ANA, amounts=[(one, 1000), (two, 11)], **when)

    assert set(refused.value.errors) == {"amount"}
    assert (one.amount_mg, two.amount_mg) == (500_000, 10)
    assert ledger.lot_descendants(session, one) == []


def test_shares_of_many_lots_cost_two_queries(
    session: Session, maker: Any, stand: Any, when: dict[str, Any], engine: Any, count_queries: Any
) -> None:
    lots = [maker.lot(population=stand()) for _ in range(4)]
    first = ledger.mix_lots(session, ANA, amounts=[(lots[0], 3000), (lots[1], 1000)], **when)
    part = ledger.split_lot(session, ANA, lot=first, amount=2000, **when)
    last = ledger.mix_lots(session, ANA, amounts=[(part, 2000), (lots[2], 6000)], **when)

    with count_queries(engine) as statements:
        found = ledger.lot_origins(session, [last, *lots])

    assert [(one.lot, one.share) for one in found[last.id]] == [
        (lots[2], 0.75), (lots[0], 0.1875), (lots[1], 0.0625),
    ]  # fmt: skip
    assert [(one.lot, one.share) for one in found[lots[3].id]] == [(lots[3], 1.0)]
    assert len(statements) == 1  # the recursive question begins with WITH and is the other one


def test_the_category_and_basic_material_of_the_populations_are_heeded(
    session: Session, maker: Any, stand: Any
) -> None:
    source, other = maker.lot(population=stand()), maker.lot(population=stand(basic_material=Basic.STAND))
    selected = maker.lot(population=stand(category=Category.SELECTED, basic_material=Basic.STAND))

    both = ledger.judge_lots(session, [source, other])

    # Row b: seed source and stand of one category become a seed source.
    assert (both.allowed, both.verdict.basic) == (True, Basic.SEED_SOURCE)
    assert refusals(session, source, selected) == [
        f"Lots of different populations are mixed only within one category. {SOURCE}",
        f"These types of basic material are not mixed. {SOURCE}",
    ]
