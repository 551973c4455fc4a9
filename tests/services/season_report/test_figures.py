"""The figures of a small season, reckoned by hand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.models import Planting, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.intervals import wilson_interval
from nursery.services.costing.costs import read_costs
from nursery.services.season_report import STEPS, digest_of, gather_figures, last_season
from nursery.services.surveys.survival import survival
from tests.services.season_report.conftest import SEASON, Season, move


@pytest.fixture
def figures(session: Session, season: Season, today: dt.date) -> dict[str, Any]:
    return gather_figures(session, season=SEASON, today=today)


def rows(figures: dict[str, Any], key: str) -> list[dict[str, Any]]:
    table = figures["tables"][key]
    return [dict(zip(table["columns"], row, strict=True)) for row in table["rows"]]


def total(figures: dict[str, Any], key: str) -> dict[str, Any]:
    table = figures["tables"][key]
    return dict(zip(table["columns"], table["total"], strict=True))


def test_the_season_preselected_is_the_last_one_that_is_over() -> None:
    assert last_season(dt.date(2026, 3, 31)) == 2024
    assert last_season(dt.date(2026, 4, 1)) == 2025
    assert last_season(dt.date(2026, 11, 25)) == 2025
    assert last_season(dt.date(2027, 1, 10)) == 2025


def test_plants_by_species_are_told_from_target_to_ground(figures: dict[str, Any]) -> None:
    oak, willow = rows(figures, "plants_by_species")
    assert oak == {
        "species": "Quercus suber", "wanted": 200, "grown": 200, "sent": 170, "missing": 0, "received": 108,
        "planted": 168, "replaced": 0, "reached": 0.84,
    }  # fmt: skip
    assert (willow["wanted"], willow["grown"], willow["planted"], willow["replaced"]) == (90, 100, 90, 10)
    assert total(figures, "plants_by_species")["planted"] == 258


def test_sites_and_species_come_to_the_same_total(figures: dict[str, Any]) -> None:
    by_species, by_site = total(figures, "plants_by_species"), total(figures, "plants_by_site")
    assert list(by_species.values())[1:] == list(by_site.values())[1:]
    for name in ("money", "grown", "in_the_ground"):
        assert total(figures, "costs_by_species")[name] == total(figures, "costs_by_site")[name]
        assert sum(row[name] for row in rows(figures, "costs_by_site")) == pytest.approx(
            total(figures, "costs_by_site")[name], abs=1e-9
        )


def test_survival_is_that_of_the_surveys_with_its_interval(session: Session, figures: dict[str, Any]) -> None:
    said = {(row["species"], row["alive"], row["surveyed"], row["survival"], row["low"], row["high"])
            for row in rows(figures, "survival")}  # fmt: skip
    there = {
        (one.species, one.alive, one.planted, *(float(f"{x:.15g}") for x in (one.rate, one.low, one.high)))
        for one in survival(session, season=SEASON)
    }
    assert said == there
    low, high = wilson_interval(49, 60)
    facts = figures["facts"]
    assert facts["survival"] == pytest.approx(49 / 60)
    assert (facts["survival_low"], facts["survival_high"]) == pytest.approx((float(low), float(high)))


def test_replacements_are_in_no_survival_and_in_no_first_planting(figures: dict[str, Any]) -> None:
    assert figures["facts"]["replaced"] == 10
    assert [row["replaced_alive"] for row in rows(figures, "survival")] == [2, 2]
    assert total(figures, "costs_by_species")["surviving"] == pytest.approx(168 * 30 / 40 + 90 * 19 / 20)
    assert total(figures, "costs_by_species")["in_the_ground"] == 268


def test_origins_tell_local_share_and_effective_mothers(figures: dict[str, Any]) -> None:
    found = {(row["site"], row["species"]): row for row in rows(figures, "origins")}
    bank = next(row for row in found.values() if row["plants"] == 108)
    slope = next(row for row in found.values() if row["plants"] == 60)
    assert (bank["local"], slope["local"]) == (1.0, 0.0)
    # Two mothers with three quarters and one quarter: 1 ÷ (9/16 + 1/16).
    assert bank["effective"] == pytest.approx(1.6)
    assert bank["mothers"] == 12
    willow = next(row for row in found.values() if row["plants"] == 100)
    assert (willow["local"], willow["effective"]) == (None, None)
    assert figures["facts"]["local"] == pytest.approx(108 / 168)
    assert figures["facts"]["local_known"] == pytest.approx(168 / 268)
    assert figures["facts"]["documented"] == pytest.approx(100 / 268)


def test_seed_collected_is_that_of_the_seasons_days(figures: dict[str, Any]) -> None:
    (oak,) = rows(figures, "seed_by_species")
    assert (oak["species"], oak["lots"], oak["mothers"], oak["grams"]) == ("Quercus suber", 1, 12, 500.0)
    (lot,) = rows(figures, "seed_lots")
    assert lot["collected_on"] == "2025-10-05"


def test_losses_have_the_stage_of_the_count_before_and_their_cause(figures: dict[str, Any]) -> None:
    assert [(row["stage"], row["cause"], row["lost"]) for row in rows(figures, "losses")] == [
        ("sown", "disease", 30), ("emerged", "drought", 40), ("emerged", "graded-out", 20),
    ]  # fmt: skip
    assert total(figures, "losses")["lost"] == 90


def test_costs_are_those_of_the_costs_page(session: Session, figures: dict[str, Any]) -> None:
    there = read_costs(session, season=SEASON).total.actual.total / 100
    assert total(figures, "costs_by_species")["money"] == there
    assert sum(row["money"] for row in rows(figures, "cost_parts")) == pytest.approx(there, abs=1e-9)
    assert total(figures, "costs_by_funder")["money"] == there


def test_hours_and_planting_days_keep_paid_and_given_apart(figures: dict[str, Any]) -> None:
    (dispatch,) = rows(figures, "hours")
    assert (dispatch["job"], dispatch["paid"], dispatch["given"]) == ("dispatch", 7.5, 2.5)
    first, _second = rows(figures, "planting_days")
    assert (first["plants"], first["hours"], first["volunteers"]) == (208, 28.0, 6)
    assert first["people"] == "Crew; neighbours"


def test_deviations_and_overrides_carry_person_reason_and_day(figures: dict[str, Any]) -> None:
    (told,) = rows(figures, "deviations")
    assert (told["what"], told["action"]) == ("20 oaks fewer than wanted", "Asked of the next season")
    (override,) = rows(figures, "overrides")
    assert (override["override"], override["person"], override["day"]) == ("origin", "Ana Seabra", "2025-02-01")
    assert override["reason"] == "No seed of the region in this mast year"


def test_beside_the_costs_of_a_running_season_stands_that_it_is_not_over(
    session: Session, season: Season, figures: dict[str, Any]
) -> None:
    told = "This season is not over"
    running = gather_figures(session, season=SEASON, today=dt.date(2026, 1, 10))

    assert sum(note.startswith(told) for note in running["notes"]["en"]) == 1
    assert not any(note.startswith(told) for note in figures["notes"]["en"])


def test_each_language_has_all_definitions(figures: dict[str, Any]) -> None:
    told = figures["definitions"]
    assert set(told) == {"en", "pt", "es"}
    assert len({len(rows) for rows in told.values()}) == 1
    assert all(len(one) == 3 and all(one) for rows in told.values() for one in rows)


def test_steps_are_told_in_their_order(session: Session, season: Season, today: dt.date) -> None:
    told: list[str] = []
    gather_figures(session, season=SEASON, today=today, report=told.append)
    assert tuple(told) == STEPS


def test_equal_records_give_equal_digests_and_a_plant_more_another(
    session: Session, season: Season, today: dt.date
) -> None:
    first = digest_of(gather_figures(session, season=SEASON, today=today))
    assert digest_of(gather_figures(session, season=SEASON, today=today)) == first
    session.add(
        Planting(site_id=season.bank.id, lot_id=season.oaks.lot_id, planted_on=dt.date(2026, 1, 5), plants=1)
    )
    session.flush()
    assert digest_of(gather_figures(session, season=SEASON, today=today)) != first


def test_a_loss_taken_back_is_no_loss(session: Session, season: Season, today: dt.date) -> None:
    lost = session.query(PlantMovement).filter_by(batch_id=season.willows.id, kind=PlantMovementKind.LOST).one()
    move(session, season.willows, 30, PlantMovementKind.REVERSAL, dt.date(2025, 8, 1), reverses_id=lost.id)
    found = gather_figures(session, season=SEASON, today=today)
    assert total(found, "losses")["lost"] == 60


def test_more_batches_and_plantings_take_no_more_queries(
    engine: Engine, session: Session, maker: Any, season: Season, today: dt.date,
    count_queries: Callable[[Engine], AbstractContextManager[list[str]]],
) -> None:  # fmt: skip
    def counted() -> int:
        session.expire_all()
        with count_queries(engine) as statements:
            gather_figures(session, season=SEASON, today=today)
        return len(statements)

    few = counted()
    for _again in range(5):
        batch = maker.batch(target_id=season.oaks.target_id, sown_on=dt.date(2025, 3, 1))
        session.add(
            Planting(site_id=season.slope.id, lot_id=batch.lot_id, planted_on=dt.date(2026, 1, 5), plants=7)
        )
    session.commit()
    assert counted() == few


def test_a_season_without_records_has_empty_tables(session: Session, today: dt.date) -> None:
    found = gather_figures(session, season=2019, today=today)
    assert {key for key, table in found["tables"].items() if table["rows"]} == set()
    assert found["facts"]["planted"] == 0
