"""What a season teaches: the plan's frozen rates, what was seen after it, and the sowing reckoned again."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.database import make_engine
from nursery.models import Draw, Evidence, PlanLine, Species
from nursery.planning.again import sowing_for
from nursery.planning.growing.words import Stage
from nursery.services.evidence import record_evidence, withdraw_evidence
from nursery.services.next_year import words
from nursery.services.next_year.lines import read_lines, seasons_planned
from nursery.services.next_year.query import NextYearQuery
from nursery.services.next_year.reading import NextYear, read_next_year
from nursery.services.next_year.reckoning import asked_of, planned_rates
from nursery.services.planning import adopt_plan, make_plan
from nursery.services.species import set_figure
from tests.conftest import TODAY, Maker
from tests.databases import Kept
from tests.handmade_plans import a_line, a_plan
from tests.services.forecast.season_maker import ANA, Season

LATER = dt.date(2027, 12, 1)


@pytest.fixture
def season(session: Session, maker: Maker) -> Season:
    return Season(session, maker)


@pytest.fixture
def demo(demo_file: Kept, tmp_path: Path) -> Iterator[Session]:
    engine = make_engine(demo_file.copy(tmp_path, "demo"))
    with Session(engine) as session:
        yield session
    engine.dispose()


def seen(season: Season, rate: str, successes: int, trials: int, day: dt.date = dt.date(2027, 5, 1)) -> Evidence:
    values = {
        "part": "seed", "rate": rate, "successes": successes, "trials": trials, "happened_on": day,
        "source": "tray count",
    }  # fmt: skip
    return record_evidence(season.session, ANA, species=season.north.species.key, values=values, today=LATER)


def look(made: Season, today: dt.date = LATER, **asked: Any) -> NextYear:
    made.session.flush()
    return read_next_year(made.session, NextYearQuery(**asked), today=today)


def test_the_sowing_by_the_frozen_rates_is_the_plans_own(demo: Session) -> None:
    """Lines of the one lot that suits best: there nothing but rates decides, and the plan's own need is met."""
    one_lot = select(Draw.line_id).group_by(Draw.line_id).having(func.count(Draw.id) == 1)
    simple = {
        line.id: (_trays(line), line.seeds)
        for line in demo.scalars(select(PlanLine).where(PlanLine.id.in_(one_lot), PlanLine.growing.is_(None)))
        if line.basis["germination_reference"] == line.basis["germination_sown"] and line.trays == _trays(line)
    }
    compared = []
    for season in seasons_planned(demo):
        plan = read_lines(demo, season)
        sowing = sowing_for(asked_of(plan.lines), planned_rates(plan.lines), plan.costs)
        own = zip(plan.lines, sowing.trays.tolist(), sowing.seeds.tolist(), strict=True)
        compared += [
            ((trays, seeds), simple[line.line_id]) for line, trays, seeds in own if line.line_id in simple
        ]
    assert len(compared) >= 20
    assert [one for one, _asked in compared] == [asked for _one, asked in compared]


def _trays(line: PlanLine) -> int:
    """What the plan would sow if the lot never ran out."""
    basis = line.basis
    return math.ceil(basis["units_needed"] / basis["cells_per_tray"]) + int(basis["spare_trays"])


def test_rates_planned_are_those_the_plan_was_frozen_with(season: Season) -> None:
    line = season.line(season.north)
    frozen = {name: rate[0] for name, rate in line.basis["rates"].items()}
    seen(season, "emergence", 40, 100)
    seen(season, "hardening", 50, 100)
    errors = {one.rate: one for one in look(season).every}
    assert errors.keys() == {"emergence", "hardening"}
    assert {name: one.planned.mean for name, one in errors.items()} == {name: frozen[name] for name in errors}
    assert all(one.following.mean < one.planned.mean for one in errors.values())
    emergence = errors["emergence"]
    assert (emergence.seen.share, emergence.seen.trials, emergence.seen.times) == (0.4, 100, 1)
    assert emergence.planned.low is not None
    assert emergence.planned.high is not None
    assert emergence.planned.low < emergence.planned.mean < emergence.planned.high


def test_the_largest_error_in_plants_comes_first(season: Season) -> None:
    seen(season, "hardening", 96, 100)
    seen(season, "establishment", 30, 100)
    seen(season, "cull", 20, 100)
    found = look(season)
    plants = [abs(one.plants) for one in found.errors]
    assert plants == sorted(plants, reverse=True)
    first = found.errors[0]
    assert first.rate == "establishment"
    # Established cells are a factor of the chain: the loss is in proportion.
    assert first.plants == pytest.approx(first.of_plants * (0.3 / first.planned.mean - 1), abs=1)
    assert str(-first.plants) in words.headline(found).replace(",", "")


def test_what_the_plan_could_know_what_came_after_the_season_and_what_was_withdrawn_are_left_out(
    season: Season,
) -> None:
    seen(season, "emergence", 1, 100, TODAY)
    gone = seen(season, "emergence", 1, 100)
    withdraw_evidence(
        season.session, ANA, species=season.north.species.key, evidence_id=gone.id, reason="Wrong tray"
    )
    seen(season, "extraction_yield", 10, 100)
    values = {
        "part": "seed", "rate": "emergence", "successes": 1, "trials": 100, "happened_on": dt.date(2028, 8, 1),
        "source": "late",
    }  # fmt: skip
    record_evidence(
        season.session, ANA, species=season.north.species.key, values=values, today=dt.date(2028, 9, 1)
    )
    assert look(season, dt.date(2028, 6, 30), season=2027).every == []
    seen(season, "emergence", 70, 100)
    (one,) = look(season, dt.date(2028, 9, 1), season=2027).every
    assert (one.seen.successes, one.seen.times) == (70, 1)


def test_seed_with_its_own_test_was_sown_by_it(season: Season) -> None:
    seen(season, "germination", 10, 100)
    (untested,) = look(season).every
    assert not untested.by_test
    assert words.plants_text(untested) == f"{-untested.plants} plants fewer"
    season.lot.germination, season.lot.tested_on = 0.7, TODAY
    newer = make_plan(season.session, ANA, today=TODAY)
    adopt_plan(season.session, ANA, plan_id=newer.id)
    (tested,) = look(season).every
    assert (tested.by_test, tested.plants) == (True, 0)
    assert words.plants_text(tested) == "none: sown by the seed’s own test"


def test_survival_was_seen_on_earlier_plants_and_is_no_cost_of_this_season_yet(season: Season) -> None:
    seen(season, "field_survival_1", 10, 100)
    (one,) = look(season).every
    assert words.plants_text(one) == f"would be {-one.plants} plants fewer alive"
    assert words.headline(look(season)).startswith("Of the nursery’s own rates nothing was seen")
    assert one.planned.low is None
    seen(season, "hardening", 96, 100)
    assert "hardening" in words.headline(look(season))


def test_worse_rates_ask_for_more_seed_and_the_reason_is_told(season: Season) -> None:
    seen(season, "emergence", 400, 1000)
    (change,) = look(season).changes
    assert change.targets == 2
    assert change.after.seeds > change.before.seeds
    assert change.before.ready == change.after.ready
    assert change.because is not None
    assert change.because.label == "Nursery emergence"
    told = words.change_text(change)
    assert told.startswith(f"For the same {change.before.ready} ready plants: ")
    assert f"{change.after.seeds:,} seeds instead of {change.before.seeds:,}" in told
    assert words.reason_text(change).startswith("Most of all because of nursery emergence: ")


def test_a_figure_set_by_hand_is_what_the_next_plan_takes(season: Season) -> None:
    seen(season, "hardening", 50, 100)
    key = season.north.species.key
    path = f"protocols.{season.line(season.north).protocol}.rates.hardening.mean"
    set_figure(season.session, ANA, key=key, figure=path, value=0.91, reason="Our own years")
    (one,) = look(season).every
    assert one.following.mean == 0.91


def test_a_plan_that_kept_no_rates_is_left_out(session: Session, maker: Maker) -> None:
    plan = a_plan(session)
    a_line(session, plan, maker.target(season=2026))
    session.flush()
    found = read_next_year(session, NextYearQuery(), today=TODAY)
    assert (found.season, list(found.plan.lines), found.changes) == (2026, [], [])


def test_as_planned_nothing_changes(season: Season) -> None:
    found = look(season)
    assert (found.every, found.season) == ([], 2027)
    assert [change.differs for change in found.changes] == [False]
    assert found.changes[0].because is None


def test_the_line_it_was_sown_by_is_taken_before_a_newer_plans(season: Season) -> None:
    sown_by = season.plan_id
    season.sow(season.north)
    season.maker.target(season=2027, site=season.north.site, species=season.maker.species("alnus-glutinosa"))
    newer = make_plan(season.session, ANA, today=TODAY + dt.timedelta(days=1))
    adopt_plan(season.session, ANA, plan_id=newer.id)
    plans = {
        line.plan_id for line in read_lines(season.session, 2027).lines if line.species_key != "alnus-glutinosa"
    }
    assert sown_by in plans


def test_the_season_is_the_last_begun_unless_another_is_asked_for(season: Season) -> None:
    season.maker.target(season=2028, site=season.north.site)
    assert look(season, dt.date(2026, 11, 26)).season is None
    assert look(season).season == 2027
    assert look(season, season=1999).season == 2027


def test_counts_of_batches_teach_by_themselves(season: Season) -> None:
    batch = season.sow(season.north)
    season.count(batch, Stage.EMERGED, round(0.5 * batch.seeds), 20)
    errors = {one.rate: one for one in look(season, TODAY + dt.timedelta(days=400)).every}
    assert "emergence" in errors


def test_more_evidence_and_targets_take_no_more_queries(
    season: Season, engine: Engine, count_queries: Callable[[Engine], Any]
) -> None:
    counted = []
    for more in (1, 6):
        for _one in range(more):
            seen(season, "emergence", 70, 100)
        season.session.commit()
        with count_queries(engine) as statements:
            look(season)
        counted.append(len(statements))
    assert counted[0] == counted[1]


def test_every_kind_of_rate_of_the_demo_names_its_species_and_protocol(demo: Session) -> None:
    found = read_next_year(demo, NextYearQuery(), today=TODAY)
    catalog, known = load_catalog().species, set(demo.scalars(select(Species.key)))
    assert found.errors
    for one in found.errors:
        assert one.species_key in known
        assert one.protocol in {protocol.key for protocol in catalog[one.species_key].protocols}
        assert 0 <= one.seen.range[0] <= one.seen.share <= one.seen.range[1] <= 1
