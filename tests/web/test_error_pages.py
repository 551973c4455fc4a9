"""What a person reads when a page cannot be had: plain words, none of a library's."""

from __future__ import annotations

from typing import Any

import pytest


def test_an_address_that_leads_nowhere_is_told_in_our_words_only(client: Any) -> None:
    answer = client.get("/no-such-page")

    assert answer.status_code == 404
    assert "There is nothing at this address" in answer.text
    assert "requested URL" not in answer.text


def test_an_address_of_the_api_that_leads_nowhere_answers_in_json(client: Any) -> None:
    answer = client.get("/api/v1/no-such-thing")

    assert (answer.status_code, answer.json) == (404, {"errors": {"request": "Not Found"}})


def test_a_form_without_its_token_is_refused_without_jargon(client: Any) -> None:
    answer = client.post("/storage/new", data={"name": "Cellar"})

    assert answer.status_code == 403
    assert "This form was opened too long ago, or in another browser." in answer.text
    assert "CSRF" not in answer.text


def test_a_fault_of_ours_is_told_without_its_detail_and_stands_in_the_log(
    client: Any, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def breaks() -> str:
        raise ZeroDivisionError("at the seventh line of a file of ours")

    monkeypatch.setitem(client.application.view_functions, "season.home", breaks)
    client.application.config["TESTING"] = False
    answer = client.get("/")

    assert answer.status_code == 500
    assert "Something went wrong on our side" in answer.text
    assert "seventh line" not in answer.text
    assert "seventh line" in caplog.text


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "PROPFIND"])
@pytest.mark.parametrize("path", ["/lots", "/lots/new", "/api/v1/lots", "/sign-in", "/static/guard.js"])
def test_other_ways_of_asking_than_those_of_the_pages_are_refused_and_logged(
    client: Any, path: str, method: str, caplog: pytest.LogCaptureFixture
) -> None:
    assert client.open(path, method=method).status_code == 405
    assert [record.getMessage() for record in caplog.records] == [f"answered with 405: {method} {path}"]
