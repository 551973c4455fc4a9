"""A browser for each process, an application for each test, and what a page may be asked."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from nursery.app import create_app
from nursery.config import Settings
from tests.browser.chromium import running_chromium
from tests.browser.looking import NARROW, WIDE
from tests.browser.seasons import after_some_use, with_catalogue
from tests.browser.serving import Served, serving
from tests.conftest import TODAY

#: A step that takes longer than this many milliseconds has failed.
PATIENCE = 15_000


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with running_chromium() as browser:
        yield browser


@pytest.fixture(scope="session")
def serve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., Served]]:
    """``serve(file)`` serves a copy of that database."""
    with ExitStack() as stack:

        def start(file: Path, *, demo: bool = False) -> Served:
            folder = tmp_path_factory.mktemp("served")
            url = f"sqlite:///{shutil.copy(file, folder / 'nursery.sqlite')}"
            settings = Settings(
                database_url=url, data_dir=folder, secret_key="for tests only", person="Ana Seabra", demo=demo
            )
            return stack.enter_context(serving(create_app(settings, today=TODAY)))

        yield start


@pytest.fixture(scope="session")
def demo_season(serve: Callable[..., Served], demo_file: Path) -> Served:
    """The demo season, for tests that change nothing."""
    return serve(demo_file, demo=True)


@pytest.fixture
def own_demo(serve: Callable[..., Served], demo_file: Path) -> Served:
    """A demo season of the test's own."""
    return serve(demo_file, demo=True)


@pytest.fixture
def empty_nursery(serve: Callable[..., Served], set_up_file: Path) -> Served:
    """A nursery on its first day."""
    return serve(set_up_file)


@pytest.fixture
def visit(browser: Browser) -> Iterator[Callable[..., Page]]:
    """``visit(served)`` opens a browser window of its own on a page; options go to its context."""
    contexts: list[BrowserContext] = []

    def open_window(served: Served, path: str = "/", **options: object) -> Page:
        settings = {"base_url": served.root, "viewport": WIDE, "locale": "en-GB", **options}
        context = browser.new_context(**settings)  # type: ignore[arg-type]
        context.set_default_timeout(PATIENCE)
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
def set_up_file(empty_database: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A nursery on its first day."""
    return with_catalogue(empty_database, tmp_path_factory.mktemp("set-up"))


@pytest.fixture(scope="session")
def lived_in_file(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo season after some use, so that every page has something to show."""
    return after_some_use(demo_file, tmp_path_factory.mktemp("lived-in"))
