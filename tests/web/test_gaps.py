"""A piece that is drawn once takes the words of each request, escaped."""

from __future__ import annotations

from markupsafe import Markup

from nursery.web.gaps import Gapped, gap


def test_gaps_are_filled_with_the_words_of_each_request() -> None:
    piece = Gapped.of(f'<p title="{gap("day")}">{gap("name")}, {gap("name")}</p>')

    assert piece.filled({"name": "Ana", "day": "Monday"}) == '<p title="Monday">Ana, Ana</p>'
    assert piece.filled({"name": "Rui", "day": "Friday"}) == '<p title="Friday">Rui, Rui</p>'


def test_words_are_escaped_and_markup_is_not() -> None:
    piece = Gapped.of(f"<p>{gap('name')}</p>")

    assert piece.filled({"name": '"><b>'}) == "<p>&#34;&gt;&lt;b&gt;</p>"
    assert piece.filled({"name": Markup("<b>Ana</b>")}) == "<p><b>Ana</b></p>"


def test_a_word_cannot_open_another_gap() -> None:
    piece = Gapped.of(f"<p>{gap('name')}</p>")

    assert piece.filled({"name": gap("token"), "token": "secret"}) == f"<p>{gap('token')}</p>"
