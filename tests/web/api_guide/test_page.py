"""The page that explains the API names all that can be read and written."""

from __future__ import annotations

from nursery.services.interface import PREFIX
from nursery.services.interface.resources import RESOURCES
from nursery.services.interface.tables import TABLES
from nursery.services.interface.writes import WRITES
from tests.conftest import TODAY
from tests.web.conftest import Browser


def test_everything_that_can_be_read_and_written_is_named(client: Browser) -> None:
    html = client.get("/api").get_data(as_text=True)

    for name in [*RESOURCES, *TABLES]:
        assert f"<code>{PREFIX}/{name}</code>" in html
    for of, name in WRITES:
        assert f"<code>POST {PREFIX}/{of}/{{id}}/{name}</code>" in html
    for column in RESOURCES["lots"].listing(TODAY).columns:
        assert f"<code>{column.key}</code>" in html


def test_bounds_are_those_of_the_form(client: Browser) -> None:
    html = client.get("/api").get_data(as_text=True)

    assert "whole number, 1 to 10,000,000" in html
    assert '<a href="/api">' in client.get("/settings").get_data(as_text=True)
