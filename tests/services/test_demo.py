"""The demo season is a live, whole and sensible season on any day of the year."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Callable

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.errors import Conflict
from nursery.models import (
    Batch,
    Change,
    Container,
    Lot,
    Nursery,
    Override,
    Plan,
    PlanLine,
    PlantMovement,
    Population,
    Preferences,
    Site,
    Species,
    StoragePlace,
    Target,
    Trip,
)
from nursery.models.lots import Material
from nursery.models.plans import LineStatus
from nursery.models.targets import TargetBasis
from nursery.services.batches.checking import wrong_plant_balances
from nursery.services.codes import check_lot_code
from nursery.services.demo import demo_day, is_empty, load_demo
from nursery.services.demo.dating import collected_on, finished_day, floor_day, ripening_year, season_of
from nursery.services.ledger import wrong_balances
from nursery.services.planning import adopt_plan, make_plan
from nursery.services.season_report import gather_figures

LoadedOn = Callable[[dt.date], Session]
#: One day in every second month, and the leap day.
DAYS = [dt.date(2027, month, 15) for month in range(1, 13, 2)] + [dt.date(2028, 2, 29)]


@pytest.fixture
def loaded(loaded_on: LoadedOn, today: dt.date) -> Session:
    return loaded_on(today)


def count(session: Session, model: type) -> int:
    return session.scalar(select(func.count()).select_from(model)) or 0


def test_the_season_is_as_large_as_promised(loaded: Session) -> None:
    assert count(loaded, Population) >= 40
    assert count(loaded, Lot) >= 90
    assert count(loaded, Nursery) == 3
    assert count(loaded, Container) >= 6
    assert count(loaded, Site) == 14
    assert count(loaded, Target) >= 70
    assert count(loaded, StoragePlace) >= 3
    assert len(set(loaded.scalars(select(Target.species_id)))) >= 25
    # The winter before, the one that has come, and three more.
    assert len(set(loaded.scalars(select(Target.season)))) == 5
    assert len(set(loaded.scalars(select(Lot.ripening_year)))) >= 3
    assert set(loaded.scalars(select(Target.basis))) == set(TargetBasis)


def test_a_trip_brings_several_lots_home(loaded: Session) -> None:
    lots = Counter(loaded.scalars(select(Lot.trip_id)))

    assert set(lots) == set(loaded.scalars(select(Trip.id)))
    assert sum(number > 1 for number in lots.values()) > len(lots) / 2


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_everything_was_collected_in_its_months_before_today(loaded_on: LoadedOn, day: dt.date) -> None:
    session = loaded_on(day)
    catalog = load_catalog().species

    outside = [
        (lot.species.key, lot.collected_on)
        for lot in session.scalars(select(Lot))
        if lot.collected_on.month not in catalog[lot.species.key].collecting_months(lot.material)
        or lot.collected_on > day
        or lot.trip is None
        or lot.trip.collected_on != lot.collected_on
        or (lot.tested_on is not None and not lot.collected_on < lot.tested_on <= day)
    ]

    assert outside == []
    over = {season for season in session.scalars(select(Target.season)) if dt.date(season + 1, 3, 31) < day}
    assert over <= {finished_day(day).year}


def test_lots_lie_within_what_their_species_and_stands_give(loaded: Session) -> None:
    catalog = load_catalog().species
    for lot in loaded.scalars(select(Lot)):
        entry, plants = catalog[lot.species.key], lot.population.fruiting_plants or 0
        assert check_lot_code(lot.code) == lot.code
        assert lot.species_id == lot.population.species_id
        assert 1 <= (lot.mother_plants or 0) <= plants
        assert lot.permit_number.startswith("COL ")
        if lot.material is Material.CUTTINGS:
            assert (lot.pieces or 0) <= (entry.collecting.cuttings_per_mother or 0) * plants
            continue
        weight = entry.seed.thousand_seed_weight_g
        assert 0.7 * weight < (lot.tsw_g or 0) < 1.3 * weight
        fruit_kg = (lot.amount_mg or 0) / 1e6 / entry.seed.extraction_yield
        assert fruit_kg <= entry.seed.fruit_kg_per_mother * (lot.mother_plants or 0)


def test_some_figures_are_the_nurserys_own_and_say_why(loaded: Session) -> None:
    own = loaded.scalars(select(Override)).all()

    assert len(own) == 3
    assert all("example" in override.reason and override.person == "Ana Seabra" for override in own)


def test_what_is_past_its_life_is_put_aside(loaded: Session) -> None:
    archived = loaded.scalars(select(Lot).where(Lot.archived_at.is_not(None))).all()

    assert 3 <= len(archived) <= 20 + 11 + 8  # eleven lots went into the running crop, eight into the one before
    assert {lot.notes for lot in archived} == {"Used up or past its life; kept for the record."}
    assert count(loaded, Lot) - len(archived) >= 90


def test_the_same_day_gives_the_same_season(engine: Engine, today: dt.date) -> None:
    seen = []
    for _ in range(2):
        with Session(engine) as session, session.begin():
            load_demo(session, "Ana Seabra", today=today)
            columns = (
                Lot.code,
                Lot.amount_mg,
                Lot.pieces,
                Lot.purity,
                Lot.tsw_g,
                Lot.germination,
                Lot.collected_on,
            )
            seen.append(session.execute(select(*columns).order_by(Lot.code)).all())

    assert seen[0] == seen[1]


def test_a_demo_database_is_known_again_and_reloaded_for_another_day(session: Session, today: dt.date) -> None:
    assert demo_day(session) is None
    assert is_empty(session)

    load_demo(session, "Ana Seabra", today=today)
    load_demo(session, "Ana Seabra", today=today + dt.timedelta(days=30))

    assert demo_day(session) == today + dt.timedelta(days=30)
    assert count(session, Site) == 14
    assert session.scalars(select(Change.person).where(Change.action == "demo loaded")).all() == ["Ana Seabra"]
    assert count(session, Preferences) == 1


def test_records_of_ones_own_are_never_touched(session: Session, today: dt.date) -> None:
    session.add(Site(code="MINE", name="Own site", latitude=39.0, longitude=-7.0))
    session.flush()

    with pytest.raises(Conflict, match="records of your own"):
        load_demo(session, "Ana Seabra", today=today)

    assert session.scalars(select(Site.code)).all() == ["MINE"]
    assert count(session, Lot) == 0


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_the_plan_has_lines_of_every_kind_all_year_round(loaded_on: LoadedOn, day: dt.date) -> None:
    session = loaded_on(day)
    plan = make_plan(session, "Ana Seabra", today=day, label="Demo")
    status = Counter(line.status for line in plan.lines)
    found = {problem["code"] for line in plan.lines for problem in line.problems}

    planned = {line.target_id for line in plan.lines}
    served = set(session.scalars(select(PlantMovement.target_id)))
    # A season that is over leaves the plan where plants went to its targets.
    assert set(session.scalars(select(Target.id))) - planned <= served
    assert sum(status.values()) >= 80
    assert status[LineStatus.ON_TRACK] >= 20
    assert status[LineStatus.COLLECT] >= 15
    assert status[LineStatus.SHORT] >= 1
    assert status[LineStatus.LATE] >= 2
    assert {"rescue-protocol", "earliest-season", "buy-in", "collect"} <= found


def test_some_lines_stand_only_by_a_shorter_protocol(loaded: Session, today: dt.date) -> None:
    first = {entry.key: entry.default_protocol.key for entry in load_catalog().species.values()}
    plan = make_plan(loaded, "Ana Seabra", today=today, label="Demo")
    keys = dict(loaded.execute(select(Species.id, Species.key)).all())

    rescued = [
        line
        for line in plan.lines
        if line.protocol != first[keys[line.species_id]] and line.status is LineStatus.ON_TRACK
    ]

    assert len(rescued) >= 3


def test_no_lot_gives_more_than_it_holds(loaded: Session, today: dt.date) -> None:
    plan = make_plan(loaded, "Ana Seabra", today=today, label="Demo")
    adopt_plan(loaded, "Ana Seabra", plan_id=plan.id)
    drawn: defaultdict[int, int] = defaultdict(int)
    for line in loaded.scalars(select(PlanLine).where(PlanLine.plan_id == plan.id)):
        for draw in line.draws:
            drawn[draw.lot_id] += draw.seeds if draw.milligrams is None else draw.milligrams

    overdrawn = [
        lot.code
        for lot in loaded.scalars(select(Lot).where(Lot.id.in_(drawn)))
        if drawn[lot.id] > (lot.pieces if lot.amount_mg is None else lot.amount_mg)
    ]

    assert overdrawn == []
    assert loaded.scalars(select(Plan.label).where(Plan.is_adopted)).all() == ["Demo"]


@pytest.mark.parametrize(
    ("today", "coming", "first"),
    [
        (dt.date(2026, 11, 25), 2027, 2027),
        (dt.date(2027, 1, 15), 2027, 2027),
        (dt.date(2027, 6, 1), 2027, 2028),
        (dt.date(2027, 10, 31), 2027, 2028),
    ],
)
def test_seasons_are_told_from_today(today: dt.date, coming: int, first: int) -> None:
    assert season_of("next", today) == coming
    assert season_of("0", today) == first
    assert season_of("2", today) == first + 2


def test_trips_lie_at_least_a_week_back() -> None:
    assert collected_on("11-17", dt.date(2026, 11, 25), 0) == dt.date(2026, 11, 17)
    assert collected_on("11-17", dt.date(2026, 11, 23), 0) == dt.date(2025, 11, 17)
    assert collected_on("11-17", dt.date(2026, 11, 25), 2) == dt.date(2024, 11, 17)


def test_fruit_that_hangs_over_the_new_year_ripened_the_autumn_before() -> None:
    assert ripening_year(dt.date(2027, 1, 12), (10, 11, 12, 1)) == 2026
    assert ripening_year(dt.date(2027, 2, 3), (2, 3)) == 2027
    assert ripening_year(dt.date(2026, 10, 28), (10, 11, 12)) == 2026


@pytest.mark.parametrize("day", DAYS[::3], ids=str)
def test_the_running_crop_adds_up_on_any_day(loaded_on: LoadedOn, day: dt.date) -> None:
    session = loaded_on(day)

    batches = session.scalars(select(Batch)).all()
    assert [batch.code for batch in batches if batch.sown_on > day] == []
    assert wrong_plant_balances(session) == []
    assert wrong_balances(session) == []
    late_counts = [count.counted_on for batch in batches for count in batch.counts if count.counted_on >= day]
    assert late_counts == []


def test_the_running_crop_has_its_sorrows(loaded: Session, today: dt.date) -> None:
    alive = {
        (batch.species.scientific_name, batch.target.site.code): (batch.alive, batch.seeds)
        for batch in loaded.scalars(select(Batch).where(Batch.sown_on >= floor_day(today)))
        if batch.target is not None
    }

    plants, seeds = alive["Rhamnus alaternus", "S-004"]
    assert plants < 0.05 * seeds  # sown in autumn, hardly come up
    assert alive["Rhamnus alaternus", "S-003"][0] > 100  # what the other site did not need
    assert len(alive) == 14


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_the_finished_season_holds_an_override_with_its_reason_and_hours_given(
    loaded_on: LoadedOn, day: dt.date
) -> None:
    session = loaded_on(day)
    tables = gather_figures(session, season=finished_day(day).year, today=day)["tables"]
    overrides = [
        dict(zip(tables["overrides"]["columns"], row, strict=True)) for row in tables["overrides"]["rows"]
    ]
    hours = {row[0]: row[1:] for row in tables["hours"]["rows"]}

    (ash,) = [row for row in overrides if row["override"] == "origin" and row["to_site"] == "Ajuvara confluence"]
    assert (ash["person"], ash["day"]) == ("Ana Seabra", finished_day(day).isoformat())
    assert ash["reason"].startswith("Late frost took the ash seed of the middle valley")
    assert hours["weed"] == [0.0, 26.0, 26.0]
