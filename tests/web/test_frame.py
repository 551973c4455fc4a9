"""The frame of a page is drawn once for many, and yet everybody sees their own."""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy.orm import Session

from nursery.models.accounts import Role
from nursery.web.access import COOKIE
from tests.signing_in import write_sign_in


def menu(html: str) -> list[tuple[str, str, bool]]:
    """Address, words, and whether it is where one is, of each entry of the main menu."""
    found = re.search(r'<nav class="menu-nav".*?</nav>', html, re.DOTALL)
    assert found
    entries = re.findall(r'<a href="([^"]*)"( aria-current="true")?>([^<]*)</a>', found[0])
    return [(address, words, bool(current)) for address, current, words in entries]


def token(html: str) -> str:
    found = re.search(r'name="csrf_token" value="([^"]+)"', html)
    assert found
    return found[1]


@pytest.fixture
def viewer(app: Flask, session: Session) -> FlaskClient:
    write_sign_in(session, Role.VIEWER, name="Bea <Neves>", token="of-the-viewer", email="bea@tests.example")
    session.commit()
    client = app.test_client()
    client.set_cookie(COOKIE, "of-the-viewer")
    return client


def test_each_role_is_shown_its_own_pages_in_turn(client: Any, viewer: FlaskClient) -> None:
    turns = [menu(one.get("/lots").text) for one in (client, viewer, client, viewer)]

    assert turns[:2] == turns[2:]
    everything, little = ({words: address for address, words, _current in turn} for turn in turns[:2])
    assert (everything["Grow"], little["Grow"]) == ("/work", "/batches")
    assert everything.keys() - little.keys() == {"Collect", "Import", "Settings"}
    assert little.keys() <= everything.keys()


def test_each_language_has_its_own_words_in_turn(client: Any) -> None:
    def asked(language: str) -> str:
        html: str = client.get("/lots", headers={"Accept-Language": language}).text
        return html

    turns = [asked(language) for language in ("en", "pt", "es", "en")]

    seed = [next(words for address, words, _current in menu(page) if address == "/lots") for page in turns]
    assert seed[0] == seed[3] == "Seed"
    assert len(set(seed)) == 3
    marked = [re.findall(r'lang="(\w\w)" aria-current="true"', page) for page in turns]
    assert marked == [["en"], ["pt"], ["es"], ["en"]]


def test_the_section_where_one_is_is_marked(client: Any) -> None:
    def marked(path: str) -> list[str]:
        return [words for _address, words, current in menu(client.get(path).text) if current]

    assert [marked(path) for path in ("/lots", "/plans", "/lots", "/account")] == [
        ["Seed"],
        ["Plan"],
        ["Seed"],
        [],
    ]


def test_the_page_of_a_section_that_is_open_is_marked(client: Any, session: Session, maker: Any) -> None:
    maker.place()
    session.commit()

    def marked(path: str) -> list[str]:
        found = re.search(r'<nav class="subnav".*?</nav>', client.get(path).text, re.DOTALL)
        assert found
        return re.findall(r'aria-current="page">([^<]*)<', found[0])

    assert marked("/lots") == ["Lots"]
    assert marked("/storage") == ["Storage places"]
    assert marked("/storage/1") == []
    assert marked("/lots") == ["Lots"]


def test_everybody_gets_their_own_name_and_token(app: Flask, client: Any, viewer: FlaskClient) -> None:
    ana, bea = client.get("/lots").text, viewer.get("/lots").text

    assert ("Ana Seabra" in ana, "Bea &lt;Neves&gt;" in ana) == (True, False)
    assert ("Ana Seabra" in bea, "Bea &lt;Neves&gt;" in bea) == (False, True)
    assert token(ana) != token(bea)


def test_all_forms_of_the_frame_carry_the_token_and_the_way_back(client: Any) -> None:
    page = client.get("/lots?q=a%26b").text

    assert len(re.findall(r'name="csrf_token" value="([^"]+)"', page)) == 2
    assert '<input type="hidden" name="next" value="/lots?q=a%26b">' in page
    assert '<input type="hidden" name="next" value="/plans">' in client.get("/plans").text
    assert client.submit("/language", {"language": "pt"}, page="/lots").status_code == 303


def test_what_was_searched_for_stays_in_the_search_box_escaped(client: Any) -> None:
    assert 'name="q" value="&#34;&gt;oak" placeholder' in client.get('/search?q=">oak').text
    assert 'name="q" value="" placeholder' in client.get("/lots").text


def test_the_frame_hangs_where_the_application_hangs(client: Any) -> None:
    under = client.get("/lots", environ_overrides={"SCRIPT_NAME": "/nursery"}).text
    plain = client.get("/lots").text

    assert {address.startswith("/nursery/") for address, _words, _current in menu(under)} == {True}
    assert not any(address.startswith("/nursery/") for address, _words, _current in menu(plain))
    assert 'href="/nursery/static/nursery.css"' in under
    assert 'href="/static/nursery.css"' in plain


def test_a_page_is_offered_to_who_may_open_it_whoever_asked_before(client: Any, viewer: FlaskClient) -> None:
    turns = ['href="/lots/new"' in one.get("/lots").text for one in (client, viewer, client, viewer)]

    assert turns == [True, False, True, False]
