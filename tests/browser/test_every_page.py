"""Every page as wide as a desk and as a phone: axe, the console and the width find no fault."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import pytest
from playwright.sync_api import Page

from nursery.web import CAPABILITIES
from tests.browser.addresses import SPECIAL, lists, pages_of
from tests.browser.looking import NARROW, WIDE, Complaints, faults, folded_faults
from tests.browser.serving import Served, serving
from tests.databases import Kept

pytestmark = pytest.mark.browser


@pytest.fixture(scope="session")
def lived_in(lived_in_file: Kept, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(lived_in_file, tmp_path_factory.mktemp("served"), demo=True) as served:
        yield served


@pytest.fixture(scope="session")
def first_day(set_up_file: Kept, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(set_up_file, tmp_path_factory.mktemp("served")) as served:
        yield served


@pytest.mark.parametrize("capability", CAPABILITIES)
def test_every_page_of(capability: str, lived_in: Served, visit: Callable[..., Page]) -> None:
    assert walk(lived_in, visit, pages_of(capability, lived_in)) == ""


@pytest.mark.parametrize(("endpoint", "asked"), SPECIAL)
def test_a_page_that_is_asked_for_something_special(
    endpoint: str, asked: dict[str, object], lived_in: Served, visit: Callable[..., Page]
) -> None:
    assert walk(lived_in, visit, [lived_in.address(endpoint, **asked)]) == ""


def test_every_list_on_the_first_day(first_day: Served, visit: Callable[..., Page]) -> None:
    assert walk(first_day, visit, lists(first_day)) == ""


@pytest.mark.parametrize(
    "address", ["/no-such-page", "/lots/999999", "/species/no-such-plant", "/plans/lines/999999"]
)
def test_a_page_that_is_not_there_says_so(address: str, lived_in: Served, visit: Callable[..., Page]) -> None:
    assert walk(lived_in, visit, [address], status=404) == ""


def walk(served: Served, visit: Callable[..., Page], addresses: Iterable[str], *, status: int = 200) -> str:
    """Faults of the pages at these addresses, one a line; files among them are passed over."""
    client, page = served.app.test_client(), visit(served, "")
    complaints = Complaints(page)
    found = []
    for address in addresses:
        head = client.head(address, follow_redirects=True)
        if head.status_code != status:
            found.append(f"{address} answers {head.status_code}")
        elif head.mimetype == "text/html":
            found += [f"{address} {fault}" for fault in look(page, address, complaints)]
    return "\n".join(found)


def look(page: Page, address: str, complaints: Complaints) -> list[str]:
    """Faults of one page: at both widths, and on the phone with all that is folded up unfolded too."""
    page.set_viewport_size(WIDE)
    page.goto(address)
    found = [f"wide: {fault}" for fault in faults(page)]
    page.set_viewport_size(NARROW)
    found += [f"narrow: {fault}" for fault in faults(page)]
    found += [f"narrow, unfolded: {fault}" for fault in folded_faults(page)]
    heard = complaints.take()
    expected = "Failed to load resource: the server responded with a status of 404"
    return found + [text for text in heard if expected not in text]
