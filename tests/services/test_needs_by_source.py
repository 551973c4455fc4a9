"""Needs of sites that mix sources: where to go for each, under which permit; no stand is asked twice."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.models import Climate, Strategy
from nursery.models.climates import Period
from nursery.models.permits import AreaKind
from nursery.models.places import IndigenousStatus
from nursery.planning.origin.strategies import PRESETS
from nursery.planning.origin.words import NeedPurpose, NeedSource, StrategyKind
from nursery.services.listing import ListQuery, read_page
from nursery.services.needs import needs_listing, needs_of, read_sheets
from nursery.services.permits.allowances import allowances_by_need
from tests.handmade_plans import a_draw, a_line, a_need, a_plan
from tests.services.programme.programme_maker import permit, programme

HOME = {"indigenous_status": IndigenousStatus.INDIGENOUS, "fruiting_plants": 100}


@pytest.fixture
def plan(session: Session) -> Any:
    return a_plan(session)


@pytest.fixture
def stands(maker: Any) -> dict[str, Any]:
    """A stand of each source of a site in region R1 and basin Alva."""
    return {
        "local": maker.population(region_code="R1", basin="Alva", **HOME),
        "near": maker.population(region_code="R2", basin="Alva", **HOME),
        "far": maker.population(region_code="R3", basin="Brenha", latitude=40.6, **HOME),
    }


def site_of(session: Session, maker: Any, kind: StrategyKind, **values: Any) -> Any:
    """A site that follows the usual terms of a strategy."""
    site = maker.site(region_code="R1", basin="Alva", **values)
    terms = PRESETS[kind]
    session.add(
        Strategy(
            site_id=site.id, kind=kind, shares=dict(terms.shares), least_populations=terms.least_populations,
            population_cap=terms.population_cap,
        )
    )  # fmt: skip
    session.flush()
    return site


def need_of(session: Session, maker: Any, plan: Any, site: Any, source: NeedSource, **values: Any) -> Any:
    """A need of cork oak for a line of the site."""
    defaults = {"source": source, "region_code": "R1", "basin": "Alva"}
    need = a_need(session, plan, maker.species(), **{**defaults, **values})
    a_line(session, plan, maker.target(site=site, season=2027 + need.id), need_id=need.id)
    return need


@pytest.mark.parametrize("source", ["local", "near", "far"])
def test_each_source_has_the_populations_that_are_of_it(
    session: Session, maker: Any, plan: Any, stands: dict[str, Any], source: str
) -> None:
    site = site_of(session, maker, StrategyKind.COMPOSITE)
    need = need_of(session, maker, plan, site, NeedSource(source))

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert [stand.code for stand in sheet.stands.here] == [stands[source].code]
    assert sheet.stands.elsewhere == 2


def test_a_site_without_shares_for_far_seed_finds_none(
    session: Session, maker: Any, plan: Any, stands: dict[str, Any]
) -> None:
    site = site_of(session, maker, StrategyKind.CLIMATE)
    need = need_of(session, maker, plan, site, NeedSource.FAR)

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert (sheet.stands.here, sheet.stands.elsewhere) == ([], len(stands))


def test_seed_for_the_climate_to_come_is_looked_for_where_it_is_warm(
    session: Session, maker: Any, plan: Any, stands: dict[str, Any]
) -> None:
    site = site_of(session, maker, StrategyKind.CLIMATE)
    rows = [
        (Period.PRESENT, 15.0, {"site_id": site.id}), (Period.EXPECTED, 16.5, {"site_id": site.id}),
        (Period.PRESENT, 16.5, {"population_id": stands["far"].id}),
        (Period.PRESENT, 15.0, {"population_id": stands["near"].id}),
    ]  # fmt: skip
    session.add_all(Climate(period=period, mean_annual_c=mean, **place) for period, mean, place in rows)
    need = need_of(session, maker, plan, site, NeedSource.CLIMATE)

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert [stand.code for stand in sheet.stands.here] == [stands["far"].code]
    assert (sheet.origin, sheet.where) == ("of the climate to come at R1, Alva",) * 2


def test_other_populations_than_those_drawn_are_asked(
    session: Session, maker: Any, plan: Any, stands: dict[str, Any]
) -> None:
    site = site_of(session, maker, StrategyKind.ADMIXTURE)
    other = maker.population(region_code="R1", basin="Alva", **HOME)
    need = need_of(session, maker, plan, site, NeedSource.REGION, purpose=NeedPurpose.SHARES, basin="")
    line = need.parts[0].line
    a_draw(session, line, maker.lot(population=stands["local"]))

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert [stand.code for stand in sheet.stands.here] == [other.code]
    assert sheet.where == "from other populations in R1"


def test_an_admixture_goes_to_three_populations_none_above_its_cap(
    session: Session, maker: Any, plan: Any
) -> None:
    for _number in range(4):
        maker.population(region_code="R1", basin="Alva", **{**HOME, "fruiting_plants": 1000})
    site = site_of(session, maker, StrategyKind.ADMIXTURE)
    need_of(session, maker, plan, site, NeedSource.REGION, basin="")

    (planned,) = programme(session).needs

    amounts = [pick.amount for pick in planned.picks]
    assert len(amounts) == 3
    assert sum(amounts) == pytest.approx(planned.sheet.wanted)
    assert max(amounts) <= 0.4 * planned.sheet.wanted + 1e-9
    assert planned.to_find == 0


def test_too_few_populations_for_an_admixture_must_be_found(session: Session, maker: Any, plan: Any) -> None:
    maker.population(region_code="R1", basin="Alva", **{**HOME, "fruiting_plants": 10_000})
    site = site_of(session, maker, StrategyKind.ADMIXTURE)
    need_of(session, maker, plan, site, NeedSource.REGION, basin="")

    (planned,) = programme(session).needs

    assert planned.picks[0].amount == pytest.approx(0.4 * planned.sheet.wanted)
    assert planned.to_find == 2


def test_plants_that_lack_go_before_shares_and_no_stand_is_asked_twice(
    session: Session, maker: Any, plan: Any, stands: dict[str, Any]
) -> None:
    site = site_of(session, maker, StrategyKind.COMPOSITE)
    # The shares' season closes first, yet they take only what the plants leave of the stand's fifth.
    shares = need_of(
        session, maker, plan, site, NeedSource.FAR, purpose=NeedPurpose.SHARES,
        opens_on=dt.date(2027, 10, 1), closes_on=dt.date(2027, 10, 31),
    )  # fmt: skip
    plants = need_of(session, maker, plan, site, NeedSource.FAR)
    stand = read_sheets(session, plan, [plants.id])[plants.id].stands.here[0]
    assert stand.most is not None
    plants.fruit_kg, shares.fruit_kg = stand.most * 0.75, stand.most * 0.5

    first, second = programme(session).needs

    assert (first.sheet.need.id, second.sheet.need.id) == (plants.id, shares.id)
    assert [first.picks[0].amount, second.picks[0].amount] == pytest.approx([stand.most * 0.75, stand.most * 0.25])
    assert second.lacking == pytest.approx(stand.most * 0.25)
    assert {pick.stand.code for one in (first, second) for pick in one.picks} == {stands["far"].code}


def test_a_permit_for_the_site_serves_no_need_from_afar_but_one_for_the_far_stand_does(
    session: Session, maker: Any, plan: Any, stands: dict[str, Any]
) -> None:
    site = site_of(session, maker, StrategyKind.COMPOSITE)
    far = need_of(session, maker, plan, site, NeedSource.FAR)
    local = need_of(session, maker, plan, site, NeedSource.LOCAL)
    for number, place in (("H 1", "R1"), ("F 1", "R3")):
        permit(session, maker.species(), number=number, area_kind=AreaKind.PLACES, places=place)

    found = allowances_by_need(session, [far, local])

    assert found is not None
    assert {need: [each.permit.number for each in served] for need, served in found.items()} == {
        far.id: ["F 1"], local.id: ["H 1"],
    }  # fmt: skip
    assert {pick.permit.number for one in programme(session).needs for pick in one.picks if pick.permit} == {
        "H 1", "F 1",
    }  # fmt: skip
    assert stands["far"].region_code == "R3"


def test_the_list_tells_source_and_purpose_and_narrows_to_them(
    session: Session, maker: Any, plan: Any, today: dt.date
) -> None:
    oak = maker.species()
    for source, purpose in (("far", "plants"), ("far", "shares"), ("region", "plants")):
        a_need(session, plan, oak, source=NeedSource(source), purpose=NeedPurpose(purpose))

    def rows(**filters: str) -> list[tuple[Any, Any]]:
        page = read_page(
            session, needs_listing(today, plan.id), ListQuery(filters=filters), where=needs_of(plan.id)
        )
        return [(row.source, row.purpose) for row in page.rows]

    assert len(rows()) == 3
    assert rows(source="far", purpose="shares") == [("far", "shares")]


def test_sheets_of_sources_cost_the_same_for_one_need_and_for_three(
    session: Session, engine: Engine, maker: Any, plan: Any, stands: dict[str, Any], count_queries: Any
) -> None:
    site = site_of(session, maker, StrategyKind.COMPOSITE)
    needs = [need_of(session, maker, plan, site, NeedSource(source)).id for source in stands]
    permit(session, maker.species())
    counted = []
    for some in (needs[1:2], needs):
        session.expire_all()
        with count_queries(engine) as statements:
            read_sheets(session, plan, some)
        counted.append(len(statements))
    assert counted[0] == counted[1]
