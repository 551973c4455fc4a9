"""A client that meets the application as a browser does, CSRF included."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from nursery.config import Settings
from tests.applications import lent
from tests.signing_in import SignedIn


class Browser(SignedIn):
    """Posts carry the CSRF token of the page they come from."""

    def submit(
        self, path: str, data: dict[str, Any] | None = None, *, page: str | None = None, **options: Any
    ) -> TestResponse:
        """Get ``page`` (``path`` itself when not given), take its token, and post ``data`` to ``path``."""
        html = self.get(page or path).get_data(as_text=True)
        token = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', html)
        assert token, f"{page or path} has no form"
        return self.post(path, data={"csrf_token": token[1], **(data or {})}, **options)


@pytest.fixture
def app(settings: Settings, today: dt.date) -> Iterator[Flask]:
    with lent(settings, today=today) as app:
        app.test_client_class = Browser
        yield app


@pytest.fixture
def client(app: Flask) -> Browser:
    client = app.test_client()
    assert isinstance(client, Browser)
    return client
