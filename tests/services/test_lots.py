"""Lots: what follows from population and trip, what must agree, and what a lot is worth."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.errors import Invalid
from nursery.models.lots import Material
from nursery.services.lot_quality import quality_of
from nursery.services.lots import change_lot, create_lot

DAY = dt.date(2026, 10, 20)


@pytest.fixture
def values(maker: Any) -> dict[str, Any]:
    return {"population_id": maker.population().id, "collected_on": DAY, "amount_mg": 500_000, "pieces": None}


def refusal(session: Session, values: dict[str, Any], today: dt.date) -> dict[str, str]:
    with pytest.raises(Invalid) as refused:
        create_lot(session, "Ana Seabra", values=values, today=today)
    return refused.value.errors


def test_species_day_year_and_code_follow_from_population_and_trip(
    session: Session, maker: Any, values: dict[str, Any], today: dt.date
) -> None:
    trip = maker.trip()

    lot = create_lot(
        session, "Ana Seabra", values={**values, "collected_on": None, "trip_id": trip.id}, today=today
    )

    assert (lot.species.scientific_name, lot.collected_on, lot.ripening_year) == ("Quercus suber", DAY, 2026)
    assert lot.code == "QUUE-4223-R"


def test_a_lot_has_the_species_of_its_population(
    session: Session, maker: Any, values: dict[str, Any], today: dt.date
) -> None:
    other = maker.species("quercus-ilex")

    refused = refusal(session, {**values, "species_id": other.id}, today)

    assert refused == {
        "species_id": "P-001 is a population of Quercus suber; a lot has the species of its population."
    }


def test_the_day_of_the_trip_is_the_day_of_the_lot(
    session: Session, maker: Any, values: dict[str, Any], today: dt.date
) -> None:
    trip = maker.trip(code="T-2026-014", collected_on=dt.date(2026, 10, 21))

    refused = refusal(session, {**values, "trip_id": trip.id}, today)

    assert refused == {
        "collected_on": "The trip T-2026-014 was on 21 Oct 2026. Leave the day empty to take it over, or name"
        " another trip."
    }


@pytest.mark.parametrize(
    ("given", "refused"),
    [
        ({"population_id": None}, {"population_id"}),
        ({"population_id": 999}, {"population_id"}),
        ({"collected_on": None}, {"collected_on"}),
        ({"collected_on": dt.date(2026, 11, 26)}, {"collected_on"}),
        ({"ripening_year": 2027}, {"ripening_year"}),
        ({"ripening_year": 1}, {"ripening_year"}),
        ({"tested_on": dt.date(2026, 10, 1)}, {"tested_on"}),
        ({"tested_on": dt.date(2026, 12, 1)}, {"tested_on"}),
        ({"amount_mg": None}, {"amount_mg"}),
        ({"pieces": 12}, {"amount_mg"}),
        ({"amount_mg": 1_000_000_001}, {"amount_mg"}),
        ({"amount_mg": -1}, {"amount_mg"}),
        ({"material": Material.CUTTINGS}, {"amount_mg"}),
        ({"purity": 0.0, "germination": 1.2, "tsw_g": 0.0}, {"purity", "germination", "tsw_g"}),
        ({"moisture_pct": 100.0, "mother_plants": 0}, {"moisture_pct", "mother_plants"}),
        ({"code": "QUUE-4223-X"}, {"code"}),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    session: Session, values: dict[str, Any], today: dt.date, given: dict[str, Any], refused: set[str]
) -> None:
    assert set(refusal(session, {**values, **given}, today)) == refused


def test_a_lot_of_just_a_tonne_is_taken(session: Session, values: dict[str, Any], today: dt.date) -> None:
    lot = create_lot(session, "Ana Seabra", values={**values, "amount_mg": 1_000_000_000}, today=today)

    assert lot.amount_mg == 1_000_000_000


def test_the_code_stays_when_the_population_changes(
    session: Session, maker: Any, values: dict[str, Any], today: dt.date
) -> None:
    lot = create_lot(session, "Ana Seabra", values=values, today=today)
    other = maker.population(species=maker.species("quercus-ilex"))

    change_lot(
        session, "Ana Seabra", row=lot, values={**values, "population_id": other.id, "code": ""}, today=today
    )

    assert (lot.code, lot.species.scientific_name) == ("QUUE-4223-R", "Quercus ilex")


def test_quality_worked_by_hand(session: Session, maker: Any, today: dt.date) -> None:
    lot = maker.lot(
        population=maker.population(species=maker.species("arbutus-unedo")),
        amount_mg=500_000, purity=0.9, germination=0.8, tsw_g=2.5, tested_on=today,
    )  # fmt: skip

    quality = quality_of(lot, load_catalog().species["arbutus-unedo"], today)

    # 0.9 × 0.8; 1,000,000 ÷ 2.5; × 0.72; half a kilogram of it, tested today.
    assert quality is not None
    assert quality.pure_live_seed == pytest.approx(0.72)
    assert quality.seeds_per_kg == pytest.approx(400_000)
    assert quality.viable_per_kg == pytest.approx(288_000)
    assert quality.germination_today == pytest.approx(0.8)
    assert quality.viable_seeds == pytest.approx(144_000)
    assert (quality.purity.own, quality.germination.own, quality.tsw_g.own) == (True, True, True)


def test_half_of_the_seed_is_alive_after_the_half_life(session: Session, maker: Any) -> None:
    entry = load_catalog().species["arbutus-unedo"]
    tested = dt.date(2026, 1, 1)
    lot = maker.lot(germination=0.8, tested_on=tested, collected_on=dt.date(2025, 12, 1), ripening_year=2025)

    quality = quality_of(lot, entry, tested + dt.timedelta(days=entry.life_days("seed")))

    assert quality is not None
    assert quality.germination_today == pytest.approx(0.4)


def test_untested_seed_takes_the_catalogue_and_says_so(session: Session, maker: Any, today: dt.date) -> None:
    entry = load_catalog().species["arbutus-unedo"]

    quality = quality_of(maker.lot(), entry, today)

    assert quality is not None
    assert (quality.tsw_g.value, quality.tsw_g.own) == (entry.seed.thousand_seed_weight_g, False)
    assert (quality.purity.value, quality.purity.own) == (entry.seed.purity, False)


def test_cuttings_and_seed_of_unknown_germination_have_no_quality(
    session: Session, maker: Any, today: dt.date
) -> None:
    entry = load_catalog().species["arbutus-unedo"]
    unsown: Any = SimpleNamespace(protocols=())

    assert quality_of(maker.lot(pieces=200, material=Material.CUTTINGS), entry, today) is None
    assert quality_of(maker.lot(), unsown, today) is None
