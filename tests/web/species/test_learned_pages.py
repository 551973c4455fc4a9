"""The page of learned rates: nothing seen, a batch typed, refused, counted, withdrawn and exported."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Evidence
from nursery.services.evidence import record_evidence
from nursery.services.setup import set_up
from nursery.services.species import set_figure
from tests.web.conftest import Browser

SPECIES = "/species/arbutus-unedo"
PAGE = f"{SPECIES}/learned"
MEAN = "protocols.chilled-pricked-out.rates.establishment.mean"
TYPED = {
    "kind": "seed.establishment", "successes": "130", "trials": "200", "happened_on": "2026-05-04",
    "source": "tray count, bench 4", "lot_id": "",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _species(session: Session) -> None:
    set_up(session, "Ana")
    session.commit()


def write(session: Session, times: int = 1, successes: int = 100) -> None:
    for day in range(1, times + 1):
        values = {
            "part": "seed", "rate": "establishment", "successes": successes, "trials": 200,
            "happened_on": dt.date(2026, 5, day), "source": f"bench {day}",
        }  # fmt: skip
        record_evidence(session, "Rui", species="arbutus-unedo", values=values, today=dt.date(2026, 11, 25))
    session.commit()


def text(client: Browser, path: str = PAGE) -> str:
    return client.get(path).get_data(as_text=True)


def test_with_nothing_seen_the_page_says_so_and_offers_the_form(client: Browser) -> None:
    page = text(client)
    assert "No batch of this species has been seen yet" in page
    assert "Let it count" in page
    assert "What it changes in the plan" not in page


def test_the_id_of_a_species_leads_to_its_page(client: Browser, session: Session) -> None:
    assert client.get("/species/1/learned").status_code == 302
    assert client.get("/species/nothing/learned").status_code == 404


def test_a_batch_that_is_typed_counts(client: Browser, session: Session) -> None:
    answer = client.submit(PAGE, TYPED)
    assert (answer.status_code, answer.location) == (303, f"{PAGE}#seed-establishment")
    row = session.scalars(select(Evidence)).one()
    assert (row.successes, row.trials, row.person) == (130.0, 200.0, "Ana Seabra")
    page = text(client)
    assert ("tray count, bench 4" in page, "1 batch" in page, "No open target asks" in page) == (True, True, True)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"successes": "201"}, "201 of 200 cannot be."),
        ({"kind": "seed.luck"}, "Choose the rate that was seen."),
        ({"source": ""}, "What it was must be filled in."),
        ({"happened_on": "2026-12-24"}, "24 Dec 2026 is still to come."),
        ({"lot_id": "ZZZ"}, "There is no “ZZZ”."),
    ],
)
def test_what_is_refused_stays_typed(
    client: Browser, session: Session, changes: dict[str, str], words: str
) -> None:
    answer = client.submit(PAGE, {**TYPED, **changes})
    page = answer.get_data(as_text=True)
    assert (answer.status_code, words in page, 'value="200"' in page) == (422, True, True)
    assert session.scalars(select(Evidence)).all() == []


def test_withdrawing_asks_for_a_reason_and_keeps_the_row(client: Browser, session: Session) -> None:
    write(session)
    row = session.scalars(select(Evidence)).one()
    client.submit(f"{PAGE}/{row.id}/withdraw", {"reason": " "})
    assert "Say why the batch should not count" in text(client)
    answer = client.submit(f"{PAGE}/{row.id}/withdraw", {"reason": "counted twice"})
    assert answer.status_code == 303
    assert "counted twice" in text(client)
    assert "No batch of this species has been seen yet" in text(client)


def test_a_batch_that_is_not_there_is_not_found(client: Browser) -> None:
    assert client.submit(f"{PAGE}/99/withdraw", {"reason": "slip"}).status_code == 404


def test_the_species_page_marks_the_learned_rate_and_links(client: Browser, session: Session) -> None:
    write(session, 5)
    page = text(client, SPECIES)
    assert f'href="{PAGE}"' in page
    assert "Learned here</span>" in page
    assert "The catalogue’s prior is 92 %" in page


def test_taking_back_an_own_figure_returns_to_the_learned_one(client: Browser, session: Session) -> None:
    write(session, 5)
    set_figure(session, "Ana", key="arbutus-unedo", figure=MEAN, value=0.8, reason="a new house")
    session.commit()
    assert "The learned rate waits." in text(client)
    assert "Take back: use the learned" in text(client, f"{SPECIES}/figures/{MEAN}")
    client.submit(f"{SPECIES}/figures/{MEAN}/take-back", {})
    assert "follows the batches seen here again" in text(client, SPECIES)


def test_the_plan_is_shown_under_both_rates(client: Browser, session: Session, maker: Any) -> None:
    species = maker.species("arbutus-unedo")
    maker.target(species_id=species.id)
    write(session, 6)
    page = text(client)
    assert 'id="plan-lines"' in page
    assert page.count("<strong>learned</strong>") == 1


def test_the_batches_come_as_a_file(client: Browser, session: Session) -> None:
    write(session, 2)
    lines = text(client, f"{PAGE}.csv").splitlines()
    assert len(lines) == 3
    assert lines[1].startswith("Establishment,2026-05-01,bench 1,,100,200,0.5,")
    assert client.get(f"{PAGE}.xlsx").status_code == 200


def test_the_page_costs_the_same_for_one_batch_and_for_ten(
    app: Flask, client: Browser, session: Session, count_queries: Any
) -> None:
    found = []
    for times in (1, 9):
        write(session, times)
        with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as queries:
            client.get(PAGE)
        found.append(len(queries))
    assert found[0] == found[1]
