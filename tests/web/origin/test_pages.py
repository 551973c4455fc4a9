"""The pages of origin: verdicts, reasons, decisions, rules and strategies."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Bag, Decision, RuleSet, RuleVersion, Site, Strategy
from nursery.services.setup import set_up

HERE = {"region_code": "AV-1", "basin": "Alva", "elevation_m": 400.0}
ELSEWHERE = {"region_code": "BR-1", "basin": "Brenha", "elevation_m": 400.0}


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


@pytest.fixture
def lot(session: Session, maker: Any) -> Any:
    """Forty even mothers of cork oak; sites near, high and elsewhere want the species."""
    set_up(session, "Ana Seabra")
    oak = maker.species("quercus-suber")
    stand = maker.population(species=oak, name="Ladeira alta", **HERE)
    found = maker.lot(code="QUSU-1", population=stand)
    session.add_all(Bag(lot_id=found.id, tag=f"M{n}", weight_mg=1000) for n in range(40))
    for name, place in (("Azenha", HERE), ("Cume", {**HERE, "elevation_m": 900.0}), ("Brejo", ELSEWHERE)):
        maker.target(site=maker.site(name=name, **place), species=oak)
    maker.site(name="Pousio", **HERE)
    session.commit()
    return found


def site(session: Session, name: str) -> Site:
    return session.scalars(select(Site).where(Site.name == name)).one()


def test_without_lots_the_page_says_what_to_do(client: Any) -> None:
    assert "No lots to judge yet" in client.get("/origin").text


def test_the_table_holds_a_verdict_for_each_lot_and_site_that_wants_it(client: Any, lot: Any) -> None:
    shown = text_of(client.get("/origin").text)

    assert "1 lot · 3 sites" in shown
    assert [(c["Site code"], c["Verdict"], c["Elevation"], c["Region of provenance"], c["Source"])
            for c in csv.DictReader(io.StringIO(client.get("/origin.csv").text))] == [
        (shown_code, verdict, elevation, region, source)
        for shown_code, (verdict, elevation, region, source) in zip(
            re.findall(r"S-\d{3}", shown)[:3],
            [
                ("pass", "pass", "pass", "local"),
                ("stop", "stop", "pass", "local"),
                ("stop", "pass", "stop", "far"),
            ],
            strict=True,
        )
    ]  # fmt: skip
    assert client.get("/origin.xlsx").data[:2] == b"PK"


def test_the_table_is_narrowed_and_widened(client: Any, lot: Any) -> None:
    assert "1 lot · 4 sites" in text_of(client.get("/origin?sites=all").text)
    assert "1 lot · 1 site" in text_of(client.get("/origin?site=brejo").text)
    assert "No lot or no site fits" in client.get("/origin?lot=nothing").text
    assert "0 lots" not in client.get("/origin?lots=9&at=9").text


def test_one_lot_and_one_site_tell_the_rules_behind(client: Any, session: Session, lot: Any) -> None:
    of_lot = text_of(client.get(f"/origin/lots/{lot.id}").text)
    of_site = text_of(client.get(f"/origin/sites/{site(session, 'Cume').id}").text)

    assert "stop Elevation local" in of_lot
    assert "pass every rule is met local" in of_lot
    assert "QUSU-1 stop Elevation Quercus suber Ladeira alta local" in of_site


def test_a_stop_is_explained_overridden_with_a_reason_and_taken_back(
    client: Any, session: Session, lot: Any
) -> None:
    path = f"/origin/lots/{lot.id}/sites/{site(session, 'Cume').id}"
    shown = text_of(client.get(path).text)
    assert "Elevation: asked at most 300 m, found 500 m" in shown
    assert "Elevation stop 500 m at most 300 m Planning default, not law." in shown
    assert "General rules in force from 1 Jan 2000" in shown

    refused = client.submit(path, {"kind": "override", "reason": "  "})
    assert (refused.status_code, "Reason must be filled in." in refused.text) == (422, True)
    made = client.submit(path, {"kind": "override", "reason": "Last seed of the valley"}, follow_redirects=True)
    assert "allowed despite a stop Last seed of the valley" in text_of(made.text)
    assert "stop allowed despite a stop" in text_of(client.get("/origin").text)

    session.rollback()  # begin to read anew
    row = session.scalars(select(Decision)).one()
    taken = client.submit(
        f"/origin/decisions/{row.id}/withdraw", {"reason": "Other seed was found"}, follow_redirects=True
    )
    assert "Withdrawn: Other seed was found" in text_of(taken.text)
    again = client.submit(f"/origin/decisions/{row.id}/withdraw", {"reason": "Twice"})
    assert again.status_code == 409


def test_a_decision_against_the_rules_is_refused_with_everything_typed(
    client: Any, session: Session, lot: Any
) -> None:
    path = f"/origin/lots/{lot.id}/sites/{site(session, 'Cume').id}"

    answer = client.submit(path, {"kind": "pin", "reason": "For the school", "plants": "40"})

    assert answer.status_code == 422
    assert "A pin is of one open target of this site. Choose it." in answer.text
    assert 'value="For the school"' in answer.text
    assert 'value="40"' in answer.text


def test_a_lot_is_pinned_to_a_target(client: Any, session: Session, lot: Any) -> None:
    path = f"/origin/lots/{lot.id}/sites/{site(session, 'Azenha').id}"
    target = re.search(r'<option value="(\d+)">2027/28', client.get(path).text)
    assert target

    answer = client.submit(
        path, {"kind": "pin", "target_id": target[1], "plants": "40", "reason": "For the school"},
        follow_redirects=True,
    )  # fmt: skip

    assert "pinned 2027/28, 40 plants For the school" in text_of(answer.text)


def test_a_site_gets_a_strategy_from_usual_terms(client: Any, session: Session, lot: Any) -> None:
    brejo = site(session, "Brejo")
    path = f"/origin/sites/{brejo.id}/strategy"
    filled = client.get(f"{path}?kind=composite").text
    values = dict(re.findall(r'name="(local|near|far|tolerance|least_populations)"[^>]*value="([^"]*)"', filled))
    assert {name: value.replace("\xa0", " ") for name, value in values.items()} == {
        "local": "60 %", "near": "30 %", "far": "10 %", "tolerance": "5 %", "least_populations": "1",
    }  # fmt: skip

    wrong = client.submit(path, {**values, "kind": "composite", "far": "30"})
    assert (wrong.status_code, "The 3 shares sum to 120" in wrong.text) == (422, True)
    saved = client.submit(path, {**values, "kind": "composite"}, follow_redirects=True)
    assert "Composite" in text_of(saved.text)
    session.rollback()  # begin to read anew
    assert session.scalars(select(Strategy.shares)).one() == {"local": 0.6, "near": 0.3, "far": 0.1}
    pair = text_of(client.get(f"/origin/lots/{lot.id}/sites/{brejo.id}").text)
    assert "A stop by this rule, but the site's strategy takes such sources." in pair.replace("&#39;", "'")
    dropped = client.submit(f"{path}/drop", page=path, follow_redirects=True)
    assert "no strategy of its own now" in dropped.text


def test_rules_change_by_a_new_version_and_the_old_one_stays_readable(
    client: Any, session: Session, lot: Any
) -> None:
    general = session.scalars(select(RuleSet)).one()
    path = f"/origin/rules/{general.id}/versions/new"
    form = client.get(path).text
    typed = dict(re.findall(r'name="([a-z_]+-(?:caution|stop|basis))"[^>]*value="([^"]*)"', form))
    typed |= {
        name: re.search(rf'name="{name}".*?<option value="(\w+)" selected', form, re.DOTALL)[1]  # type: ignore[index]
        for name in set(re.findall(r'name="([a-z]+-(?:differs|unknown))"', form))
    }
    typed = {name: value.replace("&#39;", "'") for name, value in typed.items()}

    wrong = client.submit(
        path, {**typed, "valid_from": "2026-11-25", "reason": "Narrower", "elevation-caution": "400"}
    )
    assert wrong.status_code == 422
    assert "Elevation: caution above 400 lies beyond stop above 300" in wrong.text
    saved = client.submit(
        path, {**typed, "valid_from": "2026-11-25", "reason": "Bands of 600 m", "elevation-stop": "600"},
        follow_redirects=True,
    )  # fmt: skip

    shown = text_of(saved.text)
    assert "Bands of 600 m Ana Seabra" in shown
    assert "Elevation, stop beyond: 300 m → 600 m" in shown
    session.rollback()  # begin to read anew
    first, second = session.scalars(select(RuleVersion).order_by(RuleVersion.id)).all()
    assert {
        rule: (terms, first.rules[rule]) for rule, terms in second.rules.items() if terms != first.rules[rule]
    } == {"elevation": ({**first.rules["elevation"], "stop": 600.0}, first.rules["elevation"])}
    old = text_of(client.get(f"/origin/rules/{general.id}?version={first.id}").text)
    assert "You see the version of 1 Jan 2000, which is not the one in force today." in old
    assert "caution" in text_of(client.get(f"/origin/lots/{lot.id}/sites/{site(session, 'Cume').id}").text)


def test_a_further_set_is_made_followed_and_archived(client: Any, session: Session, lot: Any) -> None:
    form = client.get("/origin/rules/new").text
    typed = dict(re.findall(r'name="([a-z_]+-(?:caution|stop|basis))"[^>]*value="([^"]*)"', form))
    typed |= dict.fromkeys(set(re.findall(r'name="([a-z]+-(?:differs|unknown))"', form)), "stop")
    made = client.submit(
        "/origin/rules/new",
        {**typed, "name": "River banks", "valid_from": "2026-11-25", "reason": "Basins never cross"},
        follow_redirects=True,
    )
    assert "River banks" in made.text
    session.rollback()  # begin to read anew
    river = session.scalars(select(RuleSet).where(RuleSet.name == "River banks")).one()
    azenha, river_page = site(session, "Azenha"), f"/origin/rules/{river.id}"

    client.submit(f"/origin/sites/{azenha.id}/strategy", {"kind": "region", "rule_set_id": str(river.id)})

    assert "River banks" in text_of(client.get(f"/sites/{azenha.id}").text)
    kept = client.submit(f"{river_page}/archive", page=river_page, follow_redirects=True)
    assert f"is followed by {azenha.code}" in kept.text
    client.submit(f"/origin/sites/{azenha.id}/strategy", {"kind": "region", "rule_set_id": ""})
    client.submit(f"{river_page}/archive", page=river_page)
    client.get("/origin")  # tells what was done, once
    assert "River banks" not in client.get("/origin/rules").text


def test_a_site_takes_native_material_and_a_least_category(client: Any, session: Session, lot: Any) -> None:
    azenha = site(session, "Azenha")
    typed = {
        "name": "Azenha", "code": azenha.code, "latitude": "40.2", "longitude": "-7.4", "elevation_m": "400",
        "basin": "Alva", "region_code": "AV-1", "window_opens": "1 Nov", "window_closes": "28 Feb",
        "native_only": "y", "least_category": "selected", "version": str(azenha.version),
    }  # fmt: skip
    client.submit(f"/sites/{azenha.id}/edit", typed)

    shown = text_of(client.get(f"/origin/lots/{lot.id}/sites/{azenha.id}").text)
    assert "Indigenous status stop Unknown native" in shown
    assert "Category stop Source-identified Selected" in shown


def test_all_decisions_stand_in_one_list_with_those_withdrawn_on_request(
    client: Any, session: Session, lot: Any
) -> None:
    assert "No decisions yet" in client.get("/origin/decisions").text
    for name, kind in (("Cume", "override"), ("Azenha", "forbid")):
        path = f"/origin/lots/{lot.id}/sites/{site(session, name).id}"
        client.submit(path, {"kind": kind, "reason": f"Reason for {name}"})
    client.submit("/origin/decisions/2/withdraw", {"reason": "Healthy after all"})

    shown = text_of(client.get("/origin/decisions").text)
    assert "QUSU-1 at Cume Quercus suber allowed despite a stop Reason for Cume Ana Seabra" in shown
    assert "Reason for Azenha" not in shown
    every = text_of(client.get("/origin/decisions?withdrawn=yes").text)
    assert "forbidden withdrawn Reason for Azenha Withdrawn: Healthy after all" in every
    rows = csv.DictReader(io.StringIO(client.get("/origin/decisions.csv").text))
    assert [(row["Lot"], row["Planting site"], row["Decision"], row["Withdrawn because"]) for row in rows] == [
        ("QUSU-1", "Azenha", "forbidden", "Healthy after all"),
        ("QUSU-1", "Cume", "allowed despite a stop", ""),
    ]
    assert client.get("/origin/decisions.xlsx").data[:2] == b"PK"


def test_the_history_tells_what_a_site_followed(client: Any, session: Session, lot: Any) -> None:
    azenha = site(session, "Azenha")
    path = f"/origin/sites/{azenha.id}/strategy"
    client.submit(path, {"kind": "composite", "local": "60", "near": "30", "far": "10"})
    client.submit(path, {"kind": "composite", "local": "70", "near": "20", "far": "10"})

    shown = text_of(client.get(path).text).replace("\xa0", " ")
    assert "Shares: 60 % local, 30 % near, 10 % far → 70 % local, 20 % near, 10 % far" in shown
    assert "Takes native material only no" in text_of(client.get(f"/sites/{azenha.id}").text)
