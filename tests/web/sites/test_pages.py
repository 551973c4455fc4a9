"""The pages of planting sites."""

from __future__ import annotations

import re
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Site

TYPED = {
    "name": "Ribeiro",
    "area_ha": "2,5",
    "latitude": "40.2",
    "longitude": "-7.4",
    "window_opens": "1/11",
    "window_closes": "28 Feb",
}


def errors(html: str) -> dict[str, str]:
    found = re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', html, re.DOTALL)
    return {name: text.replace("&#39;", "'") for name, text in found}


def test_a_site_is_written_down_with_its_planting_window(client: Any, session: Session) -> None:
    answer = client.submit("/sites/new", TYPED, follow_redirects=True)

    row = session.scalars(select(Site)).one()
    assert (row.code, row.area_ha, row.window_opens, row.window_closes) == ("S-001", 2.5, "11-01", "02-28")
    assert "Planting opens: “1/11” was understood as 1 Nov." in answer.text


@pytest.mark.parametrize("day", ["31 Feb", "29 Feb", "13-40", "winter", ""])
def test_a_day_that_not_every_year_has_is_refused_and_the_typing_kept(
    client: Any, session: Session, day: str
) -> None:
    answer = client.submit("/sites/new", {**TYPED, "window_closes": day})

    assert (answer.status_code, list(errors(answer.text))) == (422, ["window_closes"])
    assert 'value="2,5"' in answer.text
    assert session.scalar(select(func.count(Site.id))) == 0


def test_swapped_coordinates_are_refused(client: Any, session: Session, maker: Any) -> None:
    maker.site()
    session.commit()
    answer = client.submit("/sites/new", {**TYPED, "latitude": "-7.4", "longitude": "40.2"})
    assert answer.status_code == 422
    assert "look swapped" in errors(answer.text)["latitude"]


def test_a_site_shows_its_targets_its_mix_and_its_sums(client: Any, session: Session, maker: Any) -> None:
    site = maker.site()
    maker.target(site=site, plants=500)
    maker.target(site=maker.site(), plants=77)
    session.commit()
    page = client.get(f"/sites/{site.id}").text
    assert page.count('href="/targets/') == 2  # the one target, and the way to a new one
    assert re.findall(r'<td class="num">([^<]*)</td>', page.partition('id="site-seasons"')[2]) == ["500", "0", "–"]


def test_the_form_gives_back_the_days_it_shows(client: Any, session: Session, maker: Any) -> None:
    maker.site(window_opens="10-20", window_closes="03-10")
    session.commit()
    page = client.get("/sites/1/edit").text
    shown = dict(re.findall(r'<input[^>]*name="(window_\w+)"[^>]*value="([^"]*)"', page))
    assert shown == {"window_opens": "20 Oct", "window_closes": "10 Mar"}
    client.submit("/sites/1/edit", {**TYPED, **shown, "version": "1"})
    session.expire_all()
    assert session.get_one(Site, 1).window_opens == "10-20"


def test_the_list_and_the_page_cost_the_same_for_one_and_for_three(
    app: Any, client: Any, session: Session, maker: Any, count_queries: Any
) -> None:
    site, found = maker.site(), []
    for key in ("quercus-suber", "quercus-ilex", "acer-campestre"):
        maker.site()
        maker.target(site=site, species=maker.species(key))
        session.commit()
        with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
            client.get("/sites")
            client.get(f"/sites/{site.id}")
        found.append(len(statements))
    assert found == [found[0]] * 3


def test_a_form_sent_without_any_version_overwrites_nothing(client: Any, session: Session, maker: Any) -> None:
    maker.site(name="Bank")
    session.commit()
    answer = client.submit("/sites/1/edit", TYPED)
    session.expire_all()
    assert (answer.status_code, session.get_one(Site, 1).name) == (409, "Bank")


def test_a_name_of_signs_that_cannot_be_seen_counts_as_none(client: Any, session: Session) -> None:
    answer = client.submit("/sites/new", {**TYPED, "name": "\0 \u202e"})
    assert (answer.status_code, errors(answer.text)) == (422, {"name": "Name must be filled in."})
