"""The forecast pages: shortages first, ways out, and the click that moves plants."""

from __future__ import annotations

import csv
import datetime as dt
import html
import io
import re
from urllib.parse import parse_qsl, urlsplit

import pytest
from flask import Flask
from sqlalchemy.orm import Session

from nursery.models import Batch
from nursery.planning.growing.words import Stage
from tests.conftest import Maker
from tests.services.forecast.season_maker import Season
from tests.web.conftest import Browser


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


@pytest.fixture
def season(session: Session, maker: Maker) -> Season:
    return Season(session, maker)


@pytest.fixture
def uneven(season: Season, app: Flask) -> tuple[Batch, Batch]:
    """The north has half of what it needs, the south all and half as much again; seen after the counts."""
    poor, rich = season.sow(season.north), season.sow(season.south)
    more = season.sow(None, part=0.5)
    more.target_id = season.south.id
    cells = poor.trays * 40
    day = season.count(poor, Stage.GROWING, round(0.5 * cells), 60)
    season.count(rich, Stage.GROWING, cells, 60)
    season.session.commit()
    app.config["NURSERY_TODAY"] = day
    return poor, rich


def test_without_batches_the_list_says_what_will_be_here(client: Browser) -> None:
    assert "Nothing grows for a target yet" in client.get("/forecast").get_data(as_text=True)


def test_shortages_come_first_and_lead_to_the_ways_out(
    client: Browser, season: Season, uneven: tuple[Batch, Batch]
) -> None:
    page = client.get("/forecast").get_data(as_text=True)
    table = page[page.index("<tbody>") :]
    assert table.index("North bank") < table.index("South bank")
    assert f'href="/forecast/{season.north.id}#rescue"' in table
    assert f'href="/forecast/{season.south.id}#spare"' in table
    assert f"Shown first by the count of {uneven[0].code} on" in words(table)


def test_the_list_can_be_filtered_and_taken_along(
    client: Browser, season: Season, uneven: tuple[Batch, Batch]
) -> None:
    text = client.get("/forecast.csv?standing=short").get_data(as_text=True).lstrip("\ufeff")
    rows = list(csv.DictReader(io.StringIO(text), delimiter=";" if ";" in text.splitlines()[0] else ","))
    assert [row["Planting site"] for row in rows] == ["North bank"]
    assert int(rows[0]["Missing"]) > 0
    assert "South bank" not in client.get("/forecast?q=north").get_data(as_text=True).split("<tbody>")[1]
    assert client.get("/forecast?standing=none&season=x&q=%00").status_code == 200


def test_a_short_target_shows_how_it_moved_and_what_can_be_done(
    client: Browser, season: Season, uneven: tuple[Batch, Batch]
) -> None:
    text = words(client.get(f"/forecast/{season.north.id}").get_data(as_text=True))
    assert "What can still be done" in text
    assert re.search(r"Sow more possible \d+ trays \(Tray \d+\), [\d,]+ seeds", text)
    assert re.search(r"Split off \d+ plants for here", text)
    assert "of the region of provenance or basin R1" in text
    assert f"{uneven[0].code} counted: Growing" in text
    assert "shows the shortage" in text


def test_sowing_more_begins_with_a_form_that_is_filled_in(
    client: Browser, season: Season, uneven: tuple[Batch, Batch]
) -> None:
    page = client.get(f"/forecast/{season.north.id}").get_data(as_text=True)
    found = re.search(r'<a href="(/batches/new\?[^"]+)">Sow it', page)
    assert found is not None
    asked = dict(parse_qsl(urlsplit(html.unescape(found[1])).query))
    line = season.line(season.north)
    form = client.get(html.unescape(found[1])).get_data(as_text=True)
    for name, value in (
        ("lot_id", season.lot.code), ("seeds", asked["seeds"]), ("trays", asked["trays"]), ("grams", ""),
        ("seeds_per_cell", str(line.seeds_per_cell)),
    ):  # fmt: skip
        assert re.search(rf'name="{name}"[^>]*value="{value}"', form), name
    for chosen in (season.north.id, season.container.id, line.method.value, line.protocol):
        assert re.search(rf'<option[^>]*value="{chosen}"[^>]*selected|<option selected value="{chosen}"', form), (
            chosen
        )
    assert re.search(r"The plan reckons with [\d,.]+ g\. Left empty", form)
    nonsense = (
        "/batches/new?lot=" + season.lot.code + "&target=x&seeds=-4&trays=1e9&each=%00&container=99999999999"
    )
    assert client.get(nonsense + "&method=no&protocol=%00&grams=nan").status_code == 200


def test_one_click_splits_what_can_be_spared_and_moves_it(
    client: Browser, season: Season, session: Session, uneven: tuple[Batch, Batch]
) -> None:
    path = f"/forecast/{season.north.id}"
    rich = uneven[1]
    before = rich.alive
    answer = client.submit(f"{path}/move", {"batch_id": rich.id}, page=path)
    assert (answer.status_code, answer.headers["Location"]) == (303, path)
    session.expire_all()
    part = session.query(Batch).filter(Batch.target_id == season.north.id, Batch.id != uneven[0].id).one()
    assert part.lot_id == rich.lot_id
    assert (part.alive > 0, part.alive + rich.alive) == (True, before)
    assert f"{part.code} ({part.alive} plants) is now for this target." in client.get(path).get_data(as_text=True)


def test_what_cannot_be_moved_is_refused_in_words(
    client: Browser, season: Season, uneven: tuple[Batch, Batch]
) -> None:
    path = f"/forecast/{season.north.id}"
    client.submit(f"{path}/move", {"batch_id": uneven[0].id}, page=path)
    assert "has nothing that can go to North bank" in client.get(path).get_data(as_text=True)
    assert client.submit(f"{path}/move", {"batch_id": "x"}, page=path).status_code == 404


def test_a_target_for_which_nothing_grows_says_so(client: Browser, season: Season) -> None:
    season.session.commit()
    assert "Nothing grows for it yet" in client.get(f"/forecast/{season.north.id}").get_data(as_text=True)
    assert client.get("/forecast/999999").status_code == 404


def test_the_season_page_begins_with_what_falls_short(
    client: Browser, season: Season, uneven: tuple[Batch, Batch]
) -> None:
    text = words(client.get("/").get_data(as_text=True))
    assert text.index("Growing plants that fall short") < text.index("To do in the nursery")
    assert f"Shown first by the count of {uneven[0].code}" in text


def test_when_its_planting_time_is_over_a_shortage_is_told_as_past_and_not_on_the_season_page(
    client: Browser, season: Season, uneven: tuple[Batch, Batch], app: Flask
) -> None:
    app.config["NURSERY_TODAY"] = dt.date(2028, 3, 1)

    assert "Growing plants that fall short" not in client.get("/").get_data(as_text=True)
    text = words(client.get(f"/forecast/{season.north.id}").get_data(as_text=True))
    assert "Its planting time ended on" in text
    assert "What can still be done" not in text
    assert "Planting time over" in words(client.get("/forecast?standing=over").get_data(as_text=True))


def test_the_batch_tells_how_its_forecast_moved(
    client: Browser, season: Season, uneven: tuple[Batch, Batch]
) -> None:
    text = words(client.get(f"/batches/{uneven[0].id}").get_data(as_text=True))
    assert re.search(r"ready plants? expected", text)
    assert "sown:" in text
    assert "counted:" in text


def test_a_new_plan_shows_what_grows_and_does_not_sow_it_again(
    client: Browser, season: Season, session: Session, uneven: tuple[Batch, Batch], app: Flask
) -> None:
    from nursery.services.planning import adopt_plan, make_plan

    plan = make_plan(session, "Ana Seabra", today=app.config["NURSERY_TODAY"])
    adopt_plan(session, "Ana Seabra", plan_id=plan.id)
    session.commit()
    by_target = {line.target_id: line for line in plan.lines}
    covered, partly = by_target[season.south.id], by_target[season.north.id]
    assert (covered.seeds, covered.trays, covered.status.value) == (0, 0, "on-track")
    assert 0 < partly.seeds < season.line(season.north).seeds * 2
    text = words(client.get(f"/plans/lines/{covered.id}").get_data(as_text=True))
    assert "Nothing more is to be sown: what grows is enough." in text
    assert uneven[1].code in text
    week = covered.sow_on.isocalendar()
    sowing = words(client.get(f"/sowing?week={week.year}-W{week.week:02d}").get_data(as_text=True))
    assert "Nothing begins in this week." in sowing
