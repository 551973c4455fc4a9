"""What a person reads when a page cannot be had: plain words, none of a library's."""

from __future__ import annotations

from typing import Any


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
