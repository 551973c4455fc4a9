"""Counting a plot, reading what it says, replacing what died: the pages."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Attachment, Evidence, Planting, Survey, SurveyPlot, Target
from tests.pictures import picture

PNG = picture()


@pytest.fixture
def plot(session: Session, maker: Any) -> SurveyPlot:
    """Plot A of a site where 500 cork oaks were planted last winter."""
    site = maker.site(code="S-007", name="Azenha")
    lot = maker.lot(code="Q/7", collected_on=dt.date(2024, 10, 20), ripening_year=2024)
    plot = SurveyPlot(site_id=site.id, name="A", area_m2=100.0)
    planting = Planting(site_id=site.id, lot_id=lot.id, planted_on=dt.date(2025, 11, 20), plants=500)
    session.add_all([plot, planting])
    session.commit()
    return plot


TYPED = {
    "season": "2025/26", "year": "1", "surveyed_on": "2026-11-24", "person": "Noa", "notes": "",
    "counts-0-species_id": "Quercus suber", "counts-0-planted": "50", "counts-0-alive": "10",
    "counts-0-replacements_alive": "", "counts-0-cause_drought": "25", "counts-0-cause_browsing": "5",
    "counts-1-species_id": "", "counts-1-planted": "", "counts-1-alive": "",
}  # fmt: skip


def count(client: Any, **typed: str) -> Any:
    return client.submit("/plots/1/survey", {**TYPED, **typed})


def test_the_form_knows_season_year_and_species(client: Any, plot: SurveyPlot) -> None:
    page = client.get("/plots/1/survey").text

    assert 'name="season" value="2025/26"' in page
    assert '<option value="1" selected>Year 1</option>' in page
    assert 'name="counts-0-species_id" value="Quercus suber"' in page
    assert "500 were planted at the whole site." in page
    assert re.search(r'<input[^>]*inputmode="numeric"[^>]*name="counts-0-alive"', page)


def test_a_survey_is_written_and_shows_its_interval(client: Any, session: Session, plot: SurveyPlot) -> None:
    answer = count(client)

    assert (answer.status_code, answer.headers["Location"]) == (303, "/surveys/1")
    page = client.get("/surveys/1").text
    assert "Saved: 1 species counted in plot A." in page
    assert "<strong>20 %</strong><br><small>11 % to 33 %</small>" in page
    assert "Drought 25, Browsed or trampled 5, not seen 10" in page
    assert "The survival rate of 1 species has learned from this survey." in page
    taught = session.scalars(select(Evidence)).one()
    assert (taught.rate, taught.successes, taught.trials) == ("field_survival_1", 10.0, 50.0)
    assert "S-007 · A #1" in client.get("/species/quercus-suber/learned").text
    again = client.get("/plots/1/survey?season=2025").text
    assert "Year 1: 10 of 50 lived." in again
    assert re.search(r'name="counts-0-planted"[^>]*value="50"', again)
    assert '<option value="1" selected>Year 1</option>' in again, "the plants have not come to year 3"


@pytest.mark.parametrize(
    ("planted_on", "year"),
    [("2025-11-20", 1), ("2024-11-20", 1), ("2023-11-20", 3), ("2021-11-20", 5), ("2018-11-20", 5)],
)
def test_the_year_offered_is_the_last_of_1_3_and_5_that_the_plants_came_to(
    client: Any, session: Session, plot: SurveyPlot, planted_on: str, year: int
) -> None:
    session.scalars(select(Planting)).one().planted_on = dt.date.fromisoformat(planted_on)
    session.commit()

    page = client.get("/plots/1/survey").text

    assert f'name="season" value="{planted_on[:4]}/' in page
    assert f'<option value="{year}" selected>Year {year}</option>' in page


@pytest.mark.parametrize(
    ("planted_on", "years"),
    [("2026-01-10", [1]), ("2025-11-20", [1]), ("2024-02-10", [1, 3, 2]), ("2021-11-20", [1, 3, 5, 2, 4])],
)
def test_years_that_the_plants_have_not_come_to_are_not_offered(
    client: Any, session: Session, plot: SurveyPlot, planted_on: str, years: list[int]
) -> None:
    session.scalars(select(Planting)).one().planted_on = dt.date.fromisoformat(planted_on)
    session.commit()

    page = client.get("/plots/1/survey").text

    assert re.findall(r'<option value="(\d+)"[^>]*>Year', page) == [str(year) for year in years]


@pytest.mark.parametrize(
    ("typed", "control", "told"),
    [
        ({"counts-0-alive": "60"}, "counts-0-alive", "60 alive of 50 planted cannot be."),
        ({"counts-0-alive": ""}, "counts-0-alive", "Say how many live; 0 where none do."),
        ({"counts-0-alive": "two"}, "counts-0-alive", "“two” is not a number"),
        ({"counts-0-cause_drought": "41"}, "counts-0-causes", "Causes are given for 47 plants and 40 died."),
        (
            {"counts-1-species_id": "Quercus sober", "counts-1-planted": "3"},
            "counts-1-species_id",
            "Quercus sober",
        ),
        ({"surveyed_on": "2026-11-26"}, "surveyed_on", "26 Nov 2026 is still to come."),
        ({"year": "99"}, "year", "Choose the year again."),
    ],
)
def test_a_refusal_keeps_what_was_typed_and_leads_to_its_field(
    client: Any, session: Session, plot: SurveyPlot, typed: dict[str, str], control: str, told: str
) -> None:
    answer = count(client, **{"counts-0-cause_frost": "1", **typed})

    assert answer.status_code == 422
    assert re.search(rf'<li><a href="#{control}">[^<]*{re.escape(told)}', answer.text)
    assert f'id="{control}"' in answer.text
    for name, value in {**TYPED, "counts-0-cause_frost": "1", **typed}.items():
        if value and name not in {"season", "year", "counts-0-species_id"}:
            assert re.search(rf'name="{name}"[^>]*value="{re.escape(value)}"', answer.text), name
    assert session.scalars(select(Survey)).all() == []


def test_the_same_survey_is_not_written_twice(client: Any, session: Session, plot: SurveyPlot) -> None:
    count(client)

    answer = count(client)

    assert answer.status_code == 422
    assert "Plot A was counted for year 1 of 2025/26 on 24 Nov 2026." in answer.text
    assert len(session.scalars(select(Survey)).all()) == 1


def test_another_species_and_a_photograph_come_along(client: Any, session: Session, plot: SurveyPlot) -> None:
    client.submit(
        "/plots/1/survey",
        {
            **TYPED, "counts-1-species_id": "Fraxinus angustifolia", "counts-1-planted": "20",
            "counts-1-alive": "19",
            "photos": [(io.BytesIO(PNG), "plot.png")],
        },
        content_type="multipart/form-data",
    )  # fmt: skip

    survey = session.scalars(select(Survey)).one()
    assert [(one.species.key, one.alive) for one in survey.counts] == [
        ("quercus-suber", 10), ("fraxinus-angustifolia", 19),
    ]  # fmt: skip
    kept = session.scalars(select(Attachment)).one()
    assert (kept.subject, kept.subject_id, kept.media_type) == ("surveys", 1, "image/png")
    assert f"/attachments/{kept.id}" in client.get("/surveys/1").text


def test_what_looks_odd_is_told(client: Any, plot: SurveyPlot) -> None:
    count(client)
    count(client, **{"year": "3", "counts-0-alive": "12", "counts-0-planted": "48", "counts-0-cause_drought": ""})

    page = client.get("/surveys/2").text
    assert "Quercus suber: 12 live, at year 1 only 10 did. Are replacements among them?" in page
    assert "Quercus suber: 48 planted first, at year 1 it was 50. One of the two is wrong." in page
    assert "Year 3 was chosen, and the last planting was 1 year before." in page


def test_a_survey_is_withdrawn_with_a_reason_and_written_anew(
    client: Any, session: Session, plot: SurveyPlot
) -> None:
    count(client)
    refused = client.submit("/surveys/1/withdraw", {"reason": ""})
    assert refused.status_code == 422
    assert "Say why the survey should not stand" in refused.text

    client.submit("/surveys/1/withdraw", {"reason": "Wrong plot"})
    page = client.get("/surveys/1").text
    assert "Withdrawn by Ana Seabra: Wrong plot. It counts for nothing." in page
    assert count(client).headers["Location"] == "/surveys/2"
    assert session.scalars(select(Evidence.withdrawn_reason).order_by(Evidence.id)).all() == ["Wrong plot", ""]


def test_a_site_shows_its_survival_as_a_picture_and_the_same_numbers(client: Any, plot: SurveyPlot) -> None:
    count(client)

    for path in ("/sites/1", "/surveys/sites/1"):
        page = client.get(path).text
        assert '<img src="/surveys/sites/1/chart.svg?season=2025" alt="A line of survival over the years' in page
        assert "<strong>20 %</strong><br><small>11 % to 33 %</small>" in page
    picture = client.get("/surveys/sites/1/chart.svg?season=2025")
    assert (picture.mimetype, b'id="survey-0-1"' in picture.data) == ("image/svg+xml", True)
    assert client.get("/surveys/sites/1/chart.svg?narrow=1").status_code == 200
    assert client.get("/surveys/sites/99").status_code == 404


def test_replacements_are_asked_for_with_one_click_and_taken_back(
    client: Any, session: Session, plot: SurveyPlot
) -> None:
    count(client)
    page = client.get("/surveys/sites/1").text
    (button,) = re.findall(r"new target of (\d+)", page)
    assert "Ask for these replacements in 2027/28" in page
    sent = {"season": "2025", "year": "1", "goal": "expected", "coming": "2027"}

    first = client.submit("/surveys/sites/1/replacements", sent, page="/surveys/sites/1")
    assert "1 target of 2027/28 asks for the replacements now." in client.get("/surveys/sites/1").text
    second = client.submit("/surveys/sites/1/replacements", sent, page="/surveys/sites/1")

    assert (first.status_code, second.status_code) == (303, 303)
    target = session.scalars(select(Target)).one()
    assert (target.season, target.plants, target.replacements) == (2027, int(button), int(button))
    page = client.get("/surveys/sites/1").text
    assert "All replacements that are proposed here are targets already." in page
    assert "Ask for these" not in page
    assert f'<td class="num">{button}</td>' in client.get("/targets?replacements=yes").text
    assert "what the surveys of the site found" in client.get(f"/targets/{target.id}").text

    client.submit("/surveys/sites/1/replacements/withdraw", sent, page="/surveys/sites/1")
    session.rollback()  # reads what the request wrote
    assert target.archived_at is not None
    assert f"{button} replacements are no longer asked for." in client.get("/surveys/sites/1").text


def test_replacements_from_too_few_plants_say_so(client: Any, plot: SurveyPlot) -> None:
    few = {"counts-0-planted": "10", "counts-0-alive": "2"}
    count(client, **few, **{"counts-0-cause_drought": "", "counts-0-cause_browsing": ""})

    proposed = client.get("/surveys/sites/1").text.partition('id="replacements"')[2]

    assert "too few: mark 30 to 50" in proposed
    assert "new target of" in proposed


@pytest.mark.parametrize("season", ["", "x", "-1", "999999999999999999999"])
def test_odd_numbers_are_answered_in_words(client: Any, plot: SurveyPlot, season: str) -> None:
    count(client)

    answer = client.submit("/surveys/sites/1/replacements", {"season": season}, page="/surveys/sites/1")

    assert answer.status_code == 303
    assert client.get(f"/surveys/sites/1?season={season}&year={season}&coming={season}").status_code == 200


def test_lists_are_filtered_and_exported(client: Any, plot: SurveyPlot) -> None:
    count(client)
    client.submit("/surveys/1/withdraw", {"reason": "Wrong plot"})
    count(client, **{"counts-0-alive": "15"})

    def rows(path: str) -> list[list[str]]:
        return list(csv.reader(io.StringIO(client.get(path).text.lstrip("\ufeff"))))[1:]

    assert [row[6:9] for row in rows("/surveys.csv?state=stands")] == [["1", "50", "15"]]
    assert len(rows("/surveys.csv")) == 2
    assert [row[6:10] for row in rows("/surveys/counts.csv?state=stands")] == [
        ["Quercus suber", "Q/7", "50", "15"]
    ]
    (rate,) = rows("/surveys/survival.csv?site=1&season=2025&year=1&species=quercus-suber")
    assert rate[:8] == ["Quercus suber", "Azenha", "S-007", "2025/26", "1", "1", "50", "15"]
    assert rows("/surveys/survival.csv?year=3") == rows("/surveys/survival.csv?species=none") == []
    for path in (
        "/surveys?q=azenha",
        "/surveys/counts?species=quercus-suber",
        "/surveys/survival?year=1",
        "/plots",
    ):
        assert "Azenha" in client.get(path).text


def test_a_plot_is_written_down_and_printed_on_a_sheet(client: Any, session: Session, plot: SurveyPlot) -> None:
    typed = {"site_id": "S-007", "name": "B", "area_m2": "80", "latitude": "40.2, -7.4", "longitude": ""}
    assert client.submit("/plots/new?site=S-007", typed).headers["Location"] == "/plots/2"
    half = client.submit("/plots/new", {**typed, "name": "C", "latitude": "40.2"})
    assert "Latitude and longitude go together" in half.text
    assert "is taken already" in client.submit("/plots/new", typed).text

    sheet = client.get("/surveys/sites/1/sheet").text
    assert ("Plot A" in sheet, "Plot B" in sheet, sheet.count("Quercus suber")) == (True, True, 2)
    assert (
        'href="/plots/2/survey?season=2025&amp;year=1"'
        in client.get("/surveys/new?site=1&season=2025&year=1").text
    )


def test_a_site_without_plots_says_what_to_do_first(client: Any, maker: Any, session: Session) -> None:
    maker.site(code="S-001", name="Foz")
    session.commit()

    for path in ("/surveys/sites/1", "/surveys/new?site=1"):
        assert 'href="/plots/new?site=S-001"' in client.get(path).text
    assert "No plot is marked here yet." in client.get("/sites/1").text
    assert client.get("/surveys/sites/1/sheet").status_code == 200
    assert "No surveys yet" in client.get("/surveys").text
