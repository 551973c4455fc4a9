"""The pages of targets: what is understood is said, what cannot be is refused, typing is never lost."""

from __future__ import annotations

import re
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Change, Target
from nursery.models.targets import TargetBasis

TYPED = {
    "site_id": "S-001",
    "species_id": "sobreiro",
    "season": "2027/28",
    "basis": "density",
    "density_per_ha": "1 100",
    "share": "20 %",
    "plants": "",
    "priority": "2",
    "notes": "north bank first",
}


@pytest.fixture
def site(session: Session, maker: Any) -> Any:
    site = maker.site(code="S-001", name="Ribeiro", area_ha=2.5)
    session.commit()
    return site


def errors(html: str) -> dict[str, str]:
    found = re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', html, re.DOTALL)
    return {name: text.replace("&#39;", "'") for name, text in found}


def typed(html: str, name: str) -> str | None:
    found = re.search(rf'<input[^>]*name="{name}"[^>]*value="([^"]*)"', html)
    return found[1] if found else None


def count(session: Session) -> int:
    session.rollback()
    return session.scalar(select(func.count(Target.id))) or 0


def test_a_target_is_saved_and_says_what_it_means(client: Any, session: Session, site: Any) -> None:
    answer = client.submit("/targets/new", TYPED, follow_redirects=True)

    assert answer.status_code == 200
    assert "1,100 plants per hectare × 2.5 ha × 20 % = 550 plants to plant." in answer.text
    assert "“sobreiro” was understood as Quercus suber." in answer.text
    row = session.scalars(select(Target)).one()
    assert (row.season, row.basis, row.density_per_ha, row.share, row.plants, row.priority) == (
        2027,
        TargetBasis.DENSITY,
        1100.0,
        0.2,
        None,
        2,
    )


def test_showing_what_it_means_writes_nothing_and_keeps_the_typing(
    client: Any, session: Session, site: Any
) -> None:
    answer = client.submit("/targets/check", TYPED, page="/targets/new")

    assert answer.status_code == 200
    assert "1,100 plants per hectare × 2.5 ha × 20 % = 550 plants to plant." in answer.text
    assert 'action="/targets/new"' in answer.text
    kept = {name: typed(answer.text, name) for name in ("species_id", "density_per_ha", "share", "season")}
    assert kept == {"species_id": "sobreiro", "density_per_ha": "1 100", "share": "20 %", "season": "2027/28"}
    assert (count(session), session.scalar(select(func.count(Change.id)))) == (0, 0)


def test_the_protocols_are_offered_once_the_species_is_known(client: Any, site: Any) -> None:
    before = client.get("/targets/new").text
    after = client.submit("/targets/check", TYPED, page="/targets/new").text
    assert before.count('<option value="fresh-direct"') == 0
    assert after.count('<option value="fresh-direct">Fresh acorns sown direct in deep containers</option>') == 1


def test_a_refused_form_keeps_all_typing_and_writes_nothing(client: Any, session: Session, site: Any) -> None:
    bad = {**TYPED, "species_id": "sobreirro", "share": "140", "season": "2027/29", "plant_on": "2029-11-01"}

    answer = client.submit("/targets/new", bad)

    assert answer.status_code == 422
    assert list(errors(answer.text)) == ["species_id", "season", "share"]
    kept = {name: typed(answer.text, name) for name in ("species_id", "share", "season", "plant_on")}
    assert kept == {name: bad[name] for name in kept}
    assert "north bank first</textarea>" in answer.text
    assert count(session) == 0


def test_a_duplicate_is_refused_with_a_link_to_the_target_that_is_there(
    client: Any, session: Session, site: Any, maker: Any
) -> None:
    there = maker.target(site=site)
    session.commit()

    answer = client.submit("/targets/new", TYPED)

    assert answer.status_code == 422
    assert "There is a target for Quercus suber at Ribeiro in 2027/28 already." in answer.text
    assert f'<a href="/targets/{there.id}">Open the existing target.</a>' in answer.text
    assert count(session) == 1


def test_shares_above_the_whole_are_told_but_not_stopped(client: Any, session: Session, site: Any) -> None:
    client.submit("/targets/new", {**TYPED, "share": "70"})
    answer = client.submit(
        "/targets/new", {**TYPED, "species_id": "azinheira", "share": "40 %"}, follow_redirects=True
    )

    told = (
        "The shares of the mix of Ribeiro in 2027/28 sum to 110 %: more plants are wanted than the density says."
    )
    assert (told in answer.text, count(session)) == (True, 2)
    assert "sum to 110 %" in client.get(f"/sites/{site.id}").text


def test_a_season_that_is_over_is_refused_for_a_new_target(client: Any, session: Session, site: Any) -> None:
    answer = client.submit("/targets/new", {**TYPED, "season": "2024"})

    over = "The season 2024/25 is over: no plan can reach it any more. Name a coming season, such as 2027/28."
    assert (answer.status_code, errors(answer.text), count(session)) == (422, {"season": over}, 0)


def test_an_old_target_can_be_changed_and_is_told_to_be_over(
    client: Any, session: Session, site: Any, maker: Any
) -> None:
    old = maker.target(site=site, season=2024)
    session.commit()

    answer = client.submit(f"/targets/{old.id}/edit", {**TYPED, "season": "2024", "version": "1"},
                           follow_redirects=True)  # fmt: skip
    assert (answer.status_code, count(session)) == (200, 1)
    assert "The season 2024/25 is over: no plan can reach it any more." in answer.text
    assert "“2024” was understood as the season 2024/25." in answer.text
    moved = client.submit(f"/targets/{old.id}/edit", {**TYPED, "season": "2023", "version": "2"})
    assert (moved.status_code, list(errors(moved.text))) == (422, ["season"])


def test_a_protocol_of_another_species_is_refused_after_the_species_changed(
    client: Any, session: Session, site: Any
) -> None:
    answer = client.submit("/targets/new", {**TYPED, "species_id": "Arbutus unedo", "protocol": "fresh-direct"})
    assert answer.status_code == 422
    assert errors(answer.text) == {
        "protocol": "Arbutus unedo has no protocol “fresh-direct”. Choose one of its own from the list."
    }


def test_a_change_of_basis_is_kept_and_shown_in_the_history(client: Any, session: Session, site: Any) -> None:
    client.submit("/targets/new", TYPED)
    survivors = {**TYPED, "basis": "survivors", "plants": "300", "survival_year": "3", "version": "1"}

    answer = client.submit("/targets/1/edit", survivors, follow_redirects=True)

    session.rollback()
    row = session.scalars(select(Target)).one()
    assert (row.basis, row.plants, row.survival_year, row.density_per_ha) == (TargetBasis.SURVIVORS, 300, 3, None)
    assert "300 plants alive three years after planting." in answer.text
    assert "Given as: Plants per hectare → Survivors" in answer.text


def test_a_target_that_another_replaced_stays_archived(
    client: Any, session: Session, site: Any, maker: Any
) -> None:
    first = maker.target(site=site)
    session.commit()
    client.submit(f"/targets/{first.id}/archive", page=f"/targets/{first.id}")
    client.submit("/targets/new", TYPED)

    answer = client.submit(f"/targets/{first.id}/restore", page=f"/targets/{first.id}", follow_redirects=True)

    assert answer.status_code == 200
    assert "There is a target for Quercus suber at Ribeiro in 2027/28 already." in answer.text
    session.expire_all()
    assert session.get_one(Target, first.id).archived_at is not None


def test_the_list_filters_by_season_site_and_species_and_sums_what_it_shows(
    client: Any, session: Session, site: Any, maker: Any
) -> None:
    maker.target(site=site, plants=500)
    maker.target(site=site, species=maker.species("quercus-ilex"), season=2028, plants=70)
    maker.target(plants=9)
    session.commit()

    def totals(query: str) -> list[str]:
        html = client.get(f"/targets{query}").text.partition('id="totals"')[2]
        return re.findall(r'<td class="num">([^<]*)</td>', html)

    assert totals("") == ["2", "2", "1", "509", "0", "1", "1", "1", "70", "0"]
    assert totals("?season=2028") == ["1", "1", "1", "70", "0"]
    assert totals(f"?site={site.id}&species=quercus-suber") == ["1", "1", "1", "500", "0"]
    assert totals("?season=x&site=%00&archived=yes") == []


def test_the_list_costs_the_same_queries_for_one_and_for_three_targets(
    app: Any, client: Any, session: Session, maker: Any, count_queries: Any
) -> None:
    found = []
    for _number in range(3):
        maker.target()
        session.commit()
        with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
            client.get("/targets")
        found.append(len(statements))
    assert found == [found[0]] * 3


def test_a_new_target_knows_the_page_it_came_from(client: Any, session: Session, site: Any, maker: Any) -> None:
    maker.species()
    session.commit()
    page = client.get("/targets/new?site=S-001&species=quercus-suber&season=2028").text
    shown = {name: typed(page, name) for name in ("site_id", "species_id", "season", "priority")}
    assert shown == {"site_id": "S-001", "species_id": "Quercus suber", "season": "2028/29", "priority": "3"}


def test_the_table_carries_all_that_a_target_holds(client: Any, site: Any) -> None:
    client.submit("/targets/new", TYPED)
    head, row = client.get("/targets.csv").text.lstrip("\ufeff").splitlines()
    assert row.split(",")[:7] == ["Quercus suber", "Ribeiro", "2027/28", "550", "", "Plants per hectare", "2"]
    assert len(head.split(",")) == 19


def test_a_target_names_who_pays_and_the_list_is_filtered_by_it(client: Any, site: Any) -> None:
    client.submit("/targets/new", {**TYPED, "funder": "River fund"})
    client.submit("/targets/new", {**TYPED, "season": "2028/29", "funder": "Guadorva trust"})
    assert '<option value="River fund"' in client.get("/targets/new").text
    rows = client.get("/targets.csv?funder=River+fund").text.splitlines()[1:]
    assert [row.split(",")[2:9] for row in rows] == [
        ["2027/28", "550", "", "Plants per hectare", "2", "", "River fund"]
    ]


@pytest.mark.parametrize(
    "query", ["", "?record_id=99", "?record_id=-1", "?record_id=999999999999999", "?record_id=x"]
)
def test_checking_an_empty_form_is_answered(client: Any, site: Any, query: str) -> None:
    answer = client.submit(f"/targets/check{query}", {}, page="/targets/new")
    assert answer.status_code == 200
    assert errors(answer.text)["site_id"] == "Planting site must be filled in."
