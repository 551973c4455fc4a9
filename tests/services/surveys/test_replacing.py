"""Replacements: scaled from plots to the site, made targets by one click, taken back by withdrawing."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.stats import binomtest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.errors import Conflict, Invalid
from nursery.models import SurveyCount, Target
from nursery.models.targets import TargetBasis
from nursery.planning.field.words import Goal
from nursery.services.species import set_figure
from nursery.services.surveys.handing import hand_on, take_back
from nursery.services.surveys.proposing import Hurdle, propose
from nursery.services.surveys.survival import survival
from nursery.services.surveys.writing import withdraw_survey
from nursery.services.targets import change_target
from tests.services.surveys.conftest import ANA, PLANTED_ON, Field


@pytest.fixture(autouse=True)
def _expected(session: Session, field: Field) -> None:
    """Four in five are expected to live a year, three in five three years."""
    for key in ("quercus-suber", "fraxinus-angustifolia"):
        for protocol in load_catalog().species[key].protocols:
            for year, rate in ((1, 0.8), (3, 0.6)):
                set_figure(
                    session, ANA, key=key, figure=f"protocols.{protocol.key}.rates.field_survival_{year}.mean",
                    value=rate, reason="As agreed for this test",
                )  # fmt: skip
    session.flush()


def proposed(session: Session, field: Field, **asked: Any) -> dict[int, Any]:
    found = propose(session, site=field.site, season=2025, today=field.today, **asked)
    assert found
    return {one.row.species_id: one for one in found.rows}


def click(session: Session, field: Field, **asked: Any) -> list[Target]:
    given = {"season": 2025, "year": 1, "goal": Goal.EXPECTED, "coming": 2027, **asked}
    return hand_on(session, ANA, site=field.site, today=field.today, **given)


def open_targets(session: Session) -> list[tuple[int, int | None, int]]:
    rows = session.scalars(select(Target).where(Target.archived_at.is_(None)).order_by(Target.id))
    return [(row.species_id, row.plants, row.replacements) for row in rows]


def test_survival_comes_with_the_interval_of_scipys_binomial_test(session: Session, field: Field) -> None:
    field.survey((field.oak, 30, 24))
    field.survey((field.oak, 20, 8), plot=1, replacements=3)

    (row,) = survival(session, season=2025, site_id=field.site.id, year=1)

    assert (row.planted, row.alive, row.replacements, row.plots, row.planted_at_site) == (50, 32, 3, 2, 500)
    outside = binomtest(32, 50).proportion_ci(method="wilson")
    assert (row.rate, row.low, row.high) == pytest.approx((0.64, outside.low, outside.high), abs=1e-9)
    assert (row.sample, row.is_thin) == ((30, 50, 25, 50), False)
    assert survival(session, year=3) == survival(session, season=2024) == survival(session, site_id=999) == []


def test_losses_beyond_what_was_expected_are_scaled_to_the_site(session: Session, field: Field) -> None:
    field.survey((field.oak, 50, 20), (field.ash, 40, 38))

    found = proposed(session, field)

    oak, ash = found[field.oak.id], found[field.ash.id]
    # 500 planted, 400 should live, 200 do; of replacements four in five will: 200 ÷ 0.8.
    assert (oak.wanted, oak.living, oak.plants, oak.hurdle) == (400.0, 200.0, 250, Hurdle.NONE)
    assert oak.low < oak.plants < oak.high
    assert (ash.plants, ash.hurdle) == (0, Hurdle.LIVES)


@pytest.mark.parametrize(
    ("extra_year", "planted", "basis"),
    [(2, 10, 1), (2, 50, 1), (3, 10, 1), (3, 50, 3)],
    ids=["few in year 2", "enough in year 2", "few in year 3", "enough in year 3"],
)
def test_the_last_usual_year_with_enough_plants_is_what_replacements_stand_on(
    session: Session, field: Field, extra_year: int, planted: int, basis: int
) -> None:
    field.survey((field.oak, 50, 45), (field.ash, 40, 38))
    field.survey((field.oak, planted, planted // 5), year=extra_year)

    found = propose(session, site=field.site, season=2025, today=field.today)
    asked = propose(session, site=field.site, season=2025, year=extra_year, today=field.today)

    assert found is not None
    assert asked is not None
    assert (found.year, found.years, asked.year) == (basis, [1, extra_year], extra_year)


def test_too_few_plants_are_taken_where_nothing_else_was_counted(session: Session, field: Field) -> None:
    field.survey((field.oak, 10, 2), year=2)

    oak = proposed(session, field)[field.oak.id]

    assert (oak.row.year, oak.row.is_thin, oak.plants > 0) == (2, True, True)


def test_what_these_plots_taught_does_not_excuse_their_own_losses(session: Session, field: Field) -> None:
    field.survey((field.oak, 400, 40))

    assert proposed(session, field)[field.oak.id].expected == 0.8


def test_up_to_the_target_each_missing_plant_is_one(session: Session, field: Field, maker: Any) -> None:
    maker.target(site=field.site, species=field.oak, season=2025, plants=450)
    maker.target(
        site=field.site, species=field.ash, season=2025, plants=210, basis=TargetBasis.SURVIVORS, survival_year=1
    )
    field.survey((field.oak, 50, 20), (field.ash, 40, 10))

    found = proposed(session, field, goal=Goal.TARGET)

    assert (found[field.oak.id].wanted, found[field.oak.id].plants) == (450.0, 250)
    # 300 ashes planted, a quarter lives: 75; 135 survivors are missing, of replacements four in five will live.
    assert (found[field.ash.id].wanted, found[field.ash.id].plants) == (210.0, 169)


def test_living_replacements_fill_places_and_count_for_no_survival(session: Session, field: Field) -> None:
    field.survey((field.oak, 50, 20), replacements=10)

    oak = proposed(session, field)[field.oak.id]

    assert (oak.row.rate, oak.standing, oak.plants) == (0.4, 100.0, 125)


def test_without_plantings_a_target_or_a_rate_nothing_is_proposed(
    session: Session, field: Field, maker: Any
) -> None:
    elm = maker.species("ulmus-minor")
    field.survey((field.oak, 50, 20), (elm, 20, 2))

    assert proposed(session, field)[elm.id].hurdle is Hurdle.NO_PLANTING
    assert proposed(session, field, goal=Goal.TARGET)[field.oak.id].hurdle is Hurdle.NO_TARGET
    assert propose(session, site=field.site, season=2024, today=field.today) is None


def test_one_click_makes_targets_and_a_second_adds_nothing(session: Session, field: Field) -> None:
    field.survey((field.oak, 50, 20), (field.ash, 40, 30))

    targets = click(session, field)

    assert [(target.season, target.plants, target.replacements) for target in targets] == [
        (2027, 19, 19), (2027, 250, 250),
    ]  # fmt: skip
    before = open_targets(session)
    with pytest.raises(Conflict, match="are targets already"):
        click(session, field)
    assert open_targets(session) == before
    assert proposed(session, field)[field.oak.id].hurdle is Hurdle.HANDED_ON


def test_an_open_target_is_raised_and_only_its_replacements_are_taken_back(
    session: Session, field: Field, maker: Any
) -> None:
    target = maker.target(site=field.site, species=field.oak, season=2027, plants=100)
    field.survey((field.oak, 50, 20))

    click(session, field)
    assert (target.plants, target.replacements) == (350, 250)
    with pytest.raises(Invalid, match="250 plants of this target make up for losses"):
        change_target(session, ANA, row=target, values={"plants": 200}, today=field.today)

    assert take_back(session, ANA, site=field.site, season=2025, year=1, today=field.today) == 250
    assert (target.plants, target.replacements, target.archived_at) == (100, 0, None)
    with pytest.raises(Conflict, match="No replacements"):
        take_back(session, ANA, site=field.site, season=2025, year=1, today=field.today)


def test_a_target_of_survivors_is_raised_by_survivors(session: Session, field: Field, maker: Any) -> None:
    target = maker.target(
        site=field.site, species=field.oak, season=2027, plants=90, basis=TargetBasis.SURVIVORS, survival_year=3
    )
    field.survey((field.oak, 50, 20))

    click(session, field)

    assert (target.plants, target.replacements) == (290, 200)  # the plan adds those that will die
    with pytest.raises(Conflict):
        click(session, field)


def test_a_target_given_as_density_is_left_alone(session: Session, field: Field, maker: Any) -> None:
    maker.target(
        site=field.site, species=field.oak, season=2027, density_per_ha=500, share=0.5, basis=TargetBasis.DENSITY
    )
    field.survey((field.oak, 50, 20), (field.ash, 40, 10))

    assert proposed(session, field)[field.oak.id].hurdle is Hurdle.BY_DENSITY
    assert [target.species_id for target in click(session, field)] == [field.ash.id]


def test_withdrawing_one_of_two_surveys_takes_its_share_back(
    session: Session, field: Field, today: dt.date
) -> None:
    first = field.survey((field.oak, 50, 30))
    field.survey((field.oak, 50, 10), plot=1)
    (target,) = click(session, field)
    shares = session.scalars(select(SurveyCount.replaced).order_by(SurveyCount.id)).all()
    assert (target.plants, shares) == (250, [83, 167])  # 20 and 40 died

    withdraw_survey(session, ANA, survey=first, reason="Wrong plot", today=today)

    assert (target.plants, target.replacements) == (167, 167)
    # The second plot alone says: 100 of 500 live, 400 should; 375, of which 167 are asked for.
    assert proposed(session, field)[field.oak.id].more == 375 - 167
    click(session, field)
    assert (target.plants, target.replacements) == (375, 375)


def test_withdrawing_the_only_survey_puts_its_target_aside(session: Session, field: Field, today: dt.date) -> None:
    survey = field.survey((field.oak, 50, 20))
    click(session, field)

    withdraw_survey(session, ANA, survey=survey, reason="Wrong plot", today=today)

    assert open_targets(session) == []
    assert [(row.plants, row.replacements) for row in session.scalars(select(Target))] == [(250, 0)]


def test_a_later_survey_leaves_out_what_is_still_to_be_planted(session: Session, field: Field) -> None:
    field.survey((field.oak, 50, 20))
    click(session, field)
    field.survey((field.oak, 50, 15), year=2)

    # By year 2 all is as before but 150 live: 250 ÷ 0.8, of which 250 are asked for.
    assert proposed(session, field, year=2)[field.oak.id].more == 313 - 250


def test_replacements_planted_are_no_first_plants(session: Session, field: Field) -> None:
    field.plant(field.oaks, 200, day=PLANTED_ON + dt.timedelta(days=30), is_replacement=True)
    field.survey((field.oak, 50, 20))

    assert survival(session)[0].planted_at_site == 500


def test_a_season_that_is_over_takes_no_replacements(session: Session, field: Field) -> None:
    field.survey((field.oak, 50, 20))

    with pytest.raises(Invalid, match="The season 2024/25 is over"):
        click(session, field, coming=2024)
    assert open_targets(session) == []


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    alive=st.lists(st.integers(0, 40), min_size=1, max_size=2),
    has=st.integers(0, 300),
    clicks=st.integers(1, 3),
    goal=st.sampled_from(Goal),
)
def test_any_number_of_clicks_is_one_and_taking_back_leaves_what_was(
    session: Session, field: Field, maker: Any, alive: list[int], has: int, clicks: int, goal: Goal
) -> None:
    with session.begin_nested() as undone:
        maker.target(site=field.site, species=field.oak, season=2025, plants=500)
        if has:
            maker.target(site=field.site, species=field.oak, season=2027, plants=has)
        for plot, living in enumerate(alive):
            field.survey((field.oak, 40, living), plot=plot)
        before = open_targets(session)
        wished = proposed(session, field, goal=goal)[field.oak.id].plants
        for _click in range(clicks):
            try:
                click(session, field, goal=goal)
            except Conflict:
                assert not wished or _click
        after = open_targets(session)
        if wished:
            take_back(session, ANA, site=field.site, season=2025, year=1, today=field.today)
        left = open_targets(session)
        undone.rollback()
    session.expire_all()

    assert left == before
    assert sum(plants or 0 for _species, plants, _r in after) - sum(p or 0 for _s, p, _r in before) == wished
