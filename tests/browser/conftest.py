"""A browser for each process, an application for each test, and what a page may be asked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from nursery.services.setup import set_up
from tests.browser.chromium import running_chromium
from tests.browser.looking import NARROW, WIDE
from tests.browser.serving import Served, serving
from tests.databases import Kept
from tests.signing_in import COOKIE, TOKEN

#: A step that takes longer than this many milliseconds has failed.
PATIENCE = 15_000


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with running_chromium() as browser:
        yield browser


@pytest.fixture(scope="session")
def demo_season(demo_file: Kept, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The demo season, for tests that change nothing."""
    with serving(demo_file, tmp_path_factory.mktemp("served"), demo=True) as served:
        yield served


@pytest.fixture
def own_demo(demo_file: Kept, tmp_path: Path) -> Iterator[Served]:
    """A demo season of the test's own."""
    with serving(demo_file, tmp_path, demo=True) as served:
        yield served


@pytest.fixture
def own_nursery(set_up_file: Kept, tmp_path: Path) -> Iterator[Served]:
    """A nursery on its first day."""
    with serving(set_up_file, tmp_path) as served:
        yield served


@pytest.fixture
def visit(browser: Browser) -> Iterator[Callable[..., Page]]:
    """``visit(served)`` opens a browser window of its own on a page; options go to its context."""
    contexts: list[BrowserContext] = []

    def open_window(served: Served, path: str = "/", **options: object) -> Page:
        settings = {"base_url": served.root, "viewport": WIDE, "locale": "en-GB", **options}
        context = browser.new_context(**settings)  # type: ignore[arg-type]
        context.set_default_timeout(PATIENCE)
        context.add_cookies([{"name": COOKIE, "value": TOKEN, "url": served.root}])
        contexts.append(context)
        page = context.new_page()
        if path:
            page.goto(path)
        return page

    yield open_window
    for context in contexts:
        context.close()


@pytest.fixture
def phone() -> dict[str, object]:
    """Options of a window as wide as a phone."""
    return {"viewport": NARROW, "has_touch": True}


@pytest.fixture(scope="session")
def set_up_file(empty_database: Kept, made_once: Callable[..., Kept]) -> Kept:
    """A nursery on its first day, as `nursery serve` leaves it when it is first started."""
    return made_once("set-up", empty_database, lambda session: set_up(session, "Ana Seabra"))
