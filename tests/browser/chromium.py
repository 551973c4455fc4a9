"""The Chromium that the tests drive: found on this machine, started without anything that calls out."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, sync_playwright

#: Where Debian puts it.
USUAL = "/usr/bin/chromium"
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


def find_chromium() -> str:
    """Path of the program that ``NURSERY_CHROMIUM`` names, else of the usual one; without one, the remedy."""
    named = os.environ.get("NURSERY_CHROMIUM")
    if named:
        found = shutil.which(named)
        remedy = f"NURSERY_CHROMIUM is {named!r}, which is no program here: correct it."
    else:
        found = shutil.which(USUAL) or shutil.which("chromium")
        remedy = "The browser tests need Chromium: install Debian's chromium, or let NURSERY_CHROMIUM name one."
    assert found, remedy
    return found


@contextmanager
def running_chromium() -> Iterator[Browser]:
    """A Chromium for the tests of one process."""
    program = find_chromium()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        yield browser
        browser.close()
