"""Browsers are named so that their owner knows them again."""

from __future__ import annotations

import pytest

from nursery.web.account.devices import device_name
from tests.web.conftest import Browser

_KIT = "AppleWebKit/537.36 (KHTML, like Gecko)"
#: As these browsers say it, from memory.
_SAID = {
    f"Mozilla/5.0 (X11; Linux x86_64) {_KIT} Chrome/140.0.0.0 Safari/537.36": "Chrome on Linux",
    f"Mozilla/5.0 (Linux; Android 10; K) {_KIT} Chrome/140.0.0.0 Mobile Safari/537.36": "Chrome on Android",
    f"Mozilla/5.0 (Windows NT 10.0; Win64; x64) {_KIT} Chrome/140.0 Safari/537.36 Edg/140.0": "Edge on Windows",
    "Mozilla/5.0 (Macintosh; Intel Mac OS X 10.15; rv:143.0) Gecko/20100101 Firefox/143.0": "Firefox on macOS",
    f"Mozilla/5.0 (iPhone; CPU iPhone OS 18_6 like Mac OS X) {_KIT} Version/18.6 Safari/604.1": "Safari on iPhone",
    "a program of ours": "a program of ours",
    "": "unknown",
}


@pytest.mark.parametrize(("said", "name"), _SAID.items())
def test_a_browser_is_named_by_itself_and_its_system(said: str, name: str) -> None:
    assert device_name(said) == name


def test_ones_own_browser_is_marked_among_others(client: Browser) -> None:
    page = client.get("/account").text

    assert page.count("(this one)") == 1
