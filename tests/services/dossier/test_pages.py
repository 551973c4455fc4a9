"""The pages of a dossier tell the whole chain, in the same numbers as its data."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.documents.dossier import dossier_pdf
from nursery.i18n import format_date, format_number, locale_of
from nursery.models import Site, Survey, SurveyCount, SurveyPlot
from nursery.services.dossier.asking import Asked
from nursery.services.dossier.gathering import gather
from nursery.services.dossier.telling import tell
from tests.conftest import TODAY
from tests.services.dossier.conftest import ANA, REASON, Story
from tests.services.dossier.reading import package, pdf_text, tables


def test_the_chain_is_told_from_the_site_to_its_mothers(session: Session, story: Story) -> None:
    text = pdf_text(session, story.asked())

    assert "Dossier of site S-071, Fontela bank" in text
    assert "Made on 25 November 2026 by Ana Seabra." in text
    assert re.search(r"P-071 Vidoeiro spring QUSU-4024-7 20 Oct 2024 T-2024-31 COL 12/2024 37 100 % 211", text)
    assert "planted P-071 Quercus suber 2 M1, M2 25 % to 75 %" in text
    # Two mothers with shares of 3/4 and 1/4 are worth 1 / (9/16 + 1/16) = 1.6.
    assert "planted Quercus suber 211 2 1.6" in text
    assert "T-2024-31 20 Oct 2024 Xana Prado" in text


def test_verdict_and_override_stand_with_rule_set_person_reason_and_day(session: Session, story: Story) -> None:
    text = pdf_text(session, story.asked())
    (decision,) = tables(package(session, story.asked()))["decisions"]

    assert re.search(
        r"QUSU-4024-7 S-071 stop far 20 Rules that come with the product allowed despite a stop", text
    )
    assert REASON in text.replace("- ", "-")
    assert "QUSU-4024-7 S-071 Region of provenance stop R-9 R-1" in text
    assert (decision["person"], decision["reason"], decision["kind"]) == (ANA, REASON, "override")
    assert decision["decided_on"] == dt.datetime.now(dt.UTC).date().isoformat()


def test_plants_of_a_plot_looked_at_in_two_years_are_counted_once_by_the_later_look(
    session: Session, story: Story
) -> None:
    plot, species_id = session.scalars(select(SurveyPlot)).one(), story.lot.species_id
    other = SurveyPlot(site_id=story.site.id, name="Lower plot", area_m2=100.0)
    session.add_all(
        SurveyCount(
            survey=Survey(plot=where, season=2025, year=year, surveyed_on=day, person=ANA),
            species_id=species_id, planted=planted, alive=alive, causes={}, replacements_alive=0,
        )
        for where, year, day, planted, alive in (
            (plot, 3, dt.date(2028, 11, 3), 53, 30),
            (other, 1, dt.date(2026, 11, 3), 40, 36),
        )
    )  # fmt: skip
    session.flush()

    # 30 of 53 in the upper plot at year 3, 36 of 40 in the lower one: 66 of 93.
    assert "Alive in plots 66 of 93 plants, 71 %" in pdf_text(session, story.asked())


def test_batches_loads_papers_and_survival_are_told(session: Session, story: Story) -> None:
    text = pdf_text(session, story.asked())
    batch = story.batch.code

    assert re.search(rf"{batch} Quercus suber 20 Nov 2024 Emerged 400 82\.3 % 331 29 217 85", text)
    assert f"{batch} 2 Apr 2025 Emerged 331 331 331 10 10 Ana Seabra" in text
    assert f"{batch} Drought 29" in text
    assert f"{batch} 12 Jan 2026 60 58 Ana Seabra" in text
    assert "D-2026-071 S-071 received 12 Jan 2026 12 Jan 2026 12 Jan 2026 16:40 Lia Corvo Vez council" in text
    assert f"D-2026-071 {batch} 217 217 211" in text
    assert "12 Jan 2026 6 broken stems discarded 14 Jan 2026 Ana Seabra Roots dry" in text
    assert "DN-2026-0031 Delivery note D-2026-071" in text
    assert f"14 Jan 2026 S-071 QUSU-4024-7 {batch} 211 211 no 528 Xana Prado" in text
    # Wilson's interval of 41 in 53, by hand: 0.6442 to 0.8657.
    assert "Quercus suber 53 41 77.4 % 64.5 % 86.5 % Drought 9 4" in text
    assert "Germination 2 Dec 2024 0.823 0.781 0.859 yes Ana Seabra" in text


def test_numbers_on_the_pages_are_those_of_the_package(session: Session, story: Story) -> None:
    text, data = pdf_text(session, story.asked()), tables(package(session, story.asked()))
    shown = {
        "batches": ("seeds", "came_in", "lost", "dispatched", "alive"),
        "counts": ("plants", "low", "high", "trays_counted", "trays"),
        "load_lines": ("plants", "sent", "received"),
        "survey_counts": ("planted", "alive"),
        "quality_checks": ("looked_at", "fair"),
    }
    missing = []
    for name, columns in shown.items():
        assert data[name]
        for row in data[name]:
            numbers = [format_number(float(row[column])) for column in columns]
            if not re.search(r"\b" + r" (?:[\d.]+ % )?".join(map(re.escape, numbers)) + r"\b", text):
                missing.append((name, numbers))

    assert missing == []
    assert sum(float(row["plants"]) for row in data["shares"] if row["basis"] == "planted") == 211
    assert f"Planted {data['plantings'][0]['plants']} plants" in text
    (batch,) = data["batches"]
    assert int(batch["came_in"]) == sum(int(batch[name]) for name in ("lost", "dispatched", "alive"))


def test_the_lots_dossier_leads_on_to_the_site(session: Session, story: Story) -> None:
    asked = Asked(TODAY, ANA, lot_id=story.lot.id)
    text, data = pdf_text(session, asked), tables(package(session, asked))

    assert "Dossier of lot QUSU-4024-7" in text
    assert "S-071" in text
    assert [row["plants_told"] for row in data["plantings"]] == ["211.0"]
    assert [row["load"] for row in data["loads"]] == ["D-2026-071"]


def test_a_season_narrows_what_is_told(session: Session, story: Story) -> None:
    own, other = (tables(package(session, story.asked(season=season))) for season in (2025, 2023))

    assert [len(own[name]) for name in ("plantings", "loads", "surveys")] == [1, 1, 1]
    assert [len(other[name]) for name in ("plantings", "loads", "surveys")] == [0, 0, 0]


def test_a_sensitive_stand_is_rounded_unless_a_person_asks_for_the_place(session: Session, story: Story) -> None:
    coarse, exact = story.asked(), story.asked(exact=True)
    (hidden,) = tables(package(session, coarse))["populations"]
    (told,) = tables(package(session, exact))["populations"]

    assert (hidden["latitude"], hidden["longitude"]) == ("40.1", "-7.6")
    assert 6000 < int(hidden["uncertainty_m"]) < 8000
    assert (told["latitude"], told["longitude"], told["uncertainty_m"]) == ("40.1234", "-7.5678", "")
    assert "40.1234" not in pdf_text(session, coarse)
    assert "40.12340" in pdf_text(session, exact)
    assert "S-071 stop far 16.6 Rules" in pdf_text(session, exact)
    assert ("512" in pdf_text(session, exact), "512" in pdf_text(session, coarse)) == (True, False)
    assert b"40.1234" not in b"".join(
        repr(row).encode() for rows in tables(package(session, coarse)).values() for row in rows
    )


def test_no_name_of_a_person_is_left_where_they_are_to_be_left_out(session: Session, story: Story) -> None:
    asked = story.asked(anonymous=True)
    names = ("Ana Seabra", "Xana Prado", "Rui Meira", "Lia Corvo", "Teo Brandal")
    text, data = pdf_text(session, asked), repr(tables(package(session, asked)))

    assert [name for name in names if name in text or name in data] == []
    assert [name for name in names if name not in repr(tables(package(session, story.asked())))] == []


def test_the_pages_speak_portuguese(session: Session, story: Story) -> None:
    with locale_of("pt"):
        told = tell(session, gather(session, story.asked()))

    assert told.language == "pt"
    assert format_date(TODAY) not in told.made
    assert dossier_pdf(told).startswith(b"%PDF")


def test_an_empty_site_says_that_nothing_was_planted(session: Session, maker: Any) -> None:
    site: Site = maker.site(code="S-072")

    assert "Nothing was planted, sent or planned here." in pdf_text(session, Asked(TODAY, ANA, site_id=site.id))
