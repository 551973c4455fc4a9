"""Targets: what they mean in plants, what is refused, what they add up to."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change, Target
from nursery.models.targets import TargetBasis
from nursery.services import records
from nursery.services.listing import ListQuery, read_page
from nursery.services.targets import (
    LISTING,
    change_target,
    create_target,
    mix_of_site,
    restore_target,
    season_totals,
    wanted_of,
)

TODAY = dt.date(2026, 11, 25)


def _values(maker: Any, **given: Any) -> dict[str, Any]:
    site, species = given.pop("site", None) or maker.site(), given.pop("species", None) or maker.species()
    return {
        "site_id": site.id,
        "species_id": species.id,
        "season": 2027,
        "basis": TargetBasis.PLANTS,
        "plants": None,
        "survival_year": None,
        "density_per_ha": None,
        "share": None,
        "protocol": "",
        "container_id": None,
        "seeds_per_cell": None,
        "assurance": None,
        "plant_on": None,
        "priority": 3,
        "notes": "",
        **given,
    }


def _refused(session: Session, values: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(Invalid) as refused:
        create_target(session, "Ana", values=values, today=TODAY)
    assert session.scalar(select(func.count(Target.id))) == 0
    return refused.value.errors


def test_a_density_is_multiplied_out_in_words() -> None:
    values = {"basis": TargetBasis.DENSITY, "density_per_ha": 1100.0, "share": 0.2}
    wanted = wanted_of(values, 2.5)
    assert wanted is not None
    assert wanted.plants == 550
    assert wanted.sentence == "1,100 plants per hectare × 2.5 ha × 20 % = 550 plants to plant."


@pytest.mark.parametrize(("area", "plants"), [(0.31, 69), (1 / 3, 74), (0.0001, 1)])
def test_a_part_of_a_plant_counts_as_a_whole_one(area: float, plants: int) -> None:
    wanted = wanted_of({"basis": TargetBasis.DENSITY, "density_per_ha": 1110.0, "share": 0.2}, area)
    assert wanted is not None
    assert wanted.plants == plants


def test_the_list_and_the_plan_round_densities_alike(session: Session, maker: Any) -> None:
    areas = [0.31, 1 / 3, 0.0001, 2.5, 7.3, 6.5]
    for area in areas:
        site = maker.site(area_ha=area)
        maker.target(site=site, basis=TargetBasis.DENSITY, density_per_ha=1110.0, share=0.2)
    page = read_page(session, LISTING, ListQuery())
    by_hand = [
        wanted_of({"basis": TargetBasis.DENSITY, "density_per_ha": 1110.0, "share": 0.2}, area) for area in areas
    ]
    assert [row.wanted for row in page.rows] == [wanted.plants for wanted in by_hand if wanted]


def test_survivors_are_told_with_their_year() -> None:
    wanted = wanted_of({"basis": TargetBasis.SURVIVORS, "plants": 300, "survival_year": 3}, None)
    assert wanted is not None
    assert wanted.sentence == (
        "300 plants alive three years after planting. The plan adds as many as are likely to die until then."
    )


def test_what_belongs_to_another_basis_is_left_out(session: Session, maker: Any) -> None:
    values = _values(maker, plants=400, density_per_ha=900.0, share=0.1, survival_year=3)
    row = create_target(session, "Ana", values=values, today=TODAY)
    assert (row.plants, row.density_per_ha, row.share, row.survival_year) == (400, None, None, None)
    density = {"basis": TargetBasis.DENSITY, "density_per_ha": 900.0, "share": 0.1}
    change_target(session, "Rui", row=row, values=density, today=TODAY)
    assert (row.plants, row.density_per_ha, row.share) == (None, 900.0, 0.1)
    assert session.scalars(select(Change.action).order_by(Change.id)).all() == ["created", "changed"]


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({}, "plants"),
        ({"plants": 0}, "plants"),
        ({"plants": -5}, "plants"),
        ({"plants": 10**9}, "plants"),
        ({"basis": TargetBasis.SURVIVORS, "plants": 100}, "survival_year"),
        ({"basis": TargetBasis.SURVIVORS, "plants": 100, "survival_year": 2}, "survival_year"),
        ({"basis": TargetBasis.DENSITY, "density_per_ha": 900.0}, "share"),
        ({"basis": TargetBasis.DENSITY, "share": 0.3}, "density_per_ha"),
        ({"basis": TargetBasis.DENSITY, "density_per_ha": 900.0, "share": 0.0}, "share"),
        ({"basis": TargetBasis.DENSITY, "density_per_ha": float("inf"), "share": 0.2}, "density_per_ha"),
        ({"plants": 10, "season": 1027}, "season"),
        ({"plants": 10, "assurance": 1.0}, "assurance"),
        ({"plants": 10, "priority": 6}, "priority"),
        ({"plants": 10, "seeds_per_cell": 0}, "seeds_per_cell"),
        ({"plants": 10, "protocol": "by-magic"}, "protocol"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    session: Session, maker: Any, given: dict[str, Any], field: str
) -> None:
    assert list(_refused(session, _values(maker, **given))) == [field]


def test_a_density_needs_the_sites_area(session: Session, maker: Any) -> None:
    site = maker.site(name="Ribeiro", area_ha=None)
    errors = _refused(
        session, _values(maker, site=site, basis=TargetBasis.DENSITY, density_per_ha=900.0, share=0.2)
    )
    assert errors == {
        "site_id": "Ribeiro has no area, which plants per hectare need. Give the site its area, or say how many"
        " plants."
    }


def test_more_plants_than_any_target_wants_are_refused(session: Session, maker: Any) -> None:
    site = maker.site(area_ha=900_000.0)
    values = _values(maker, site=site, basis=TargetBasis.DENSITY, density_per_ha=900_000.0, share=1.0)
    assert _refused(session, values) == {
        "density_per_ha": "810,000,000,000 plants are more than any target can want (100,000,000)."
        " Look at the numbers again."
    }


@pytest.mark.parametrize(
    ("latitude", "day", "fits"),
    [
        (40.2, dt.date(2027, 6, 30), False),
        (40.2, dt.date(2027, 7, 1), True),
        (40.2, dt.date(2028, 6, 30), True),
        (40.2, dt.date(2028, 7, 1), False),
        (-34.0, dt.date(2027, 5, 20), True),
        (-34.0, dt.date(2026, 12, 31), False),
    ],
)
def test_a_planting_day_lies_in_its_season(
    session: Session, maker: Any, latitude: float, day: dt.date, fits: bool
) -> None:
    values = _values(maker, site=maker.site(latitude=latitude), plants=10, plant_on=day)
    if fits:
        assert create_target(session, "Ana", values=values, today=TODAY).plant_on == day
    else:
        assert list(_refused(session, values)) == ["plant_on"]


def test_a_second_target_for_site_species_and_season_is_refused(session: Session, maker: Any) -> None:
    first = maker.target(site=maker.site(name="Ribeiro"))
    values = _values(maker, plants=10) | {"site_id": first.site_id}
    with pytest.raises(Invalid) as refused:
        create_target(session, "Ana", values=values, today=TODAY)
    assert refused.value.errors == {
        "": "There is a target for Quercus suber at Ribeiro in 2027/28 already. Change that one instead."
    }
    other_season = create_target(session, "Ana", values=values | {"season": 2028}, today=TODAY)
    assert other_season.season == 2028


def test_an_archived_target_makes_room_and_stays_away_while_another_has_its_place(
    session: Session, maker: Any
) -> None:
    first = maker.target()
    records.archive(session, "Ana", first)
    second = create_target(
        session, "Ana", values=_values(maker, plants=10) | {"site_id": first.site_id}, today=TODAY
    )
    with pytest.raises(Invalid):
        restore_target(session, "Ana", first)
    records.archive(session, "Ana", second)
    assert restore_target(session, "Ana", first).archived_at is None


def test_shares_are_summed_by_season_over_active_targets(session: Session, maker: Any) -> None:
    site = maker.site()

    def density(key: str, share: float, season: int) -> Target:
        given = {"basis": TargetBasis.DENSITY, "density_per_ha": 900.0, "share": share, "season": season}
        target: Target = maker.target(site=site, species=maker.species(key), **given)
        return target

    density("quercus-suber", 0.7, 2027)
    density("quercus-ilex", 0.4, 2027)
    density("acer-campestre", 0.2, 2028)
    records.archive(session, "Ana", density("arbutus-unedo", 0.5, 2027))
    assert mix_of_site(session, site.id) == pytest.approx({2027: 1.1, 2028: 0.2})


def test_totals_keep_plants_and_survivors_apart_and_leave_out_archived_sites(session: Session, maker: Any) -> None:
    site, oak, holm = maker.site(), maker.species(), maker.species("quercus-ilex")
    maker.target(site=site, species=oak, plants=500)
    maker.target(site=site, species=holm, basis=TargetBasis.SURVIVORS, plants=80, survival_year=1)
    maker.target(species=oak, basis=TargetBasis.DENSITY, density_per_ha=1100.0, share=0.2)
    maker.target(species=oak, season=2028, plants=7)
    gone = maker.target(species=oak, plants=1000)
    records.archive(session, "Ana", gone.site)
    session.flush()
    assert season_totals(session) == [(2027, 3, 1050, 80, 2, 2), (2028, 1, 7, 0, 1, 1)]
    assert season_totals(session, Target.season == 2028) == [(2028, 1, 7, 0, 1, 1)]


def test_the_list_costs_the_same_queries_for_one_and_for_three_targets(
    session: Session, engine: Any, maker: Any, count_queries: Any
) -> None:
    found = []
    for number in (1, 2, 3):
        maker.target()
        with count_queries(engine) as statements:
            read_page(session, LISTING, ListQuery())
        found.append((number, len(statements)))
    assert found == [(1, 2), (2, 2), (3, 2)]
