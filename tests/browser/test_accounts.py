"""Several people at one nursery, from the first link to who was locked out, as they see it; and the demo's."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path

import pyotp
import pytest
from click.testing import CliRunner
from playwright.sync_api import Page, expect

from nursery.cli import main
from tests.browser.looking import faults
from tests.browser.serving import Served, serving_at
from tests.browser.steps import fill, follow, go, heading, leave_by, press, told
from tests.databases import Store

pytestmark = pytest.mark.browser

ANA, SALMA = "heron willow 47 kettle", "otter bridge 19 lantern"
WELCOME = "/welcome/"


@pytest.fixture
def address(store: Store, tmp_path: Path) -> str:
    """Where an empty database is."""
    return store.copy(None, tmp_path, "first")


@pytest.fixture
def first_link(address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The path of what `nursery account add` prints for a nursery that has nobody yet."""
    monkeypatch.setenv("NURSERY_DATA_DIR", str(tmp_path))
    monkeypatch.setenv("NURSERY_DATABASE_URL", address)
    printed = CliRunner().invoke(main, ["account", "add", "Ana Seabra", "ana@river.example"])
    assert printed.exit_code == 0, printed.output
    return WELCOME + printed.output.strip().rpartition(WELCOME)[2]


@pytest.fixture
def nursery(first_link: str, address: str, tmp_path: Path) -> Iterator[Served]:
    """That nursery, served; on the day of the clock, as the link is."""
    today = dt.datetime.now().astimezone().date()
    with serving_at(address, tmp_path, today=today) as served:
        yield served


def set_password(page: Page, name: str, password: str) -> None:
    heading(page, f"Welcome, {name}")
    fill(page, password=password)
    press(page, "Set the password")
    told(page, "Your password is set. Sign in with it.")


def sign_in(page: Page, email: str, password: str) -> None:
    fill(page, email=email, password=password)
    press(page, "Sign in")


def test_people_are_invited_come_in_do_what_they_may_and_are_signed_out(
    nursery: Served, first_link: str, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    desk = visit(nursery, first_link)
    set_password(desk, "Ana Seabra", ANA)
    sign_in(desk, "ana@river.example", ANA)
    go(desk, "Settings", "Accounts")
    follow(desk, "Invite somebody")
    fill(desk, name="Salma Rocha", email="salma@river.example")
    desk.get_by_role("checkbox", name="Grower").check()
    press(desk, "Save")
    heading(desk, "A link for Salma Rocha")
    link = desk.locator("code.secret").inner_text()
    assert link.startswith(nursery.root + WELCOME)
    assert faults(desk) == []

    mobile = visit(nursery, link.removeprefix(nursery.root), **phone)
    assert faults(mobile) == []
    set_password(mobile, "Salma Rocha", SALMA)
    show = mobile.get_by_role("button", name="Show the password")
    fill(mobile, email="salma@river.example", password=SALMA)
    show.tap()
    expect(mobile.locator("#password")).to_have_attribute("type", "text")
    expect(mobile.get_by_role("button", name="Hide the password")).to_be_visible()
    assert faults(mobile) == []
    press(mobile, "Sign in")

    mobile.goto(nursery.address("sites.list_page"))
    expect(mobile.get_by_role("link", name="New planting site")).to_have_count(0)
    mobile.goto(nursery.address("sites.new"))
    heading(mobile, "This page is not open to you")
    expect(mobile.get_by_role("main")).to_contain_text("Who may: Coordinator.")
    assert faults(mobile) == []

    # What is typed while somebody ends the session is sent after signing in again.
    mobile.goto(nursery.address("supplies.new"))
    fill(mobile, name="Slow feed", kind="Feed", unit="kilograms", supplier="River Mill")
    desk.goto(nursery.address("accounts.list_page"))
    follow(desk, "Salma Rocha")
    press(desk, "Sign out everywhere")
    told(desk, "Salma Rocha is signed out everywhere.")
    press(mobile, "Save")
    told(mobile, "You were signed out before this was saved.")
    assert faults(mobile) == []
    sign_in(mobile, "salma@river.example", SALMA)
    heading(mobile, "You are signed in again")
    assert faults(mobile) == []
    press(mobile, "Send it again")
    told(mobile, "“Slow feed” was saved.")
    expect(mobile.get_by_role("main")).to_contain_text("River Mill")


def test_a_second_factor_is_asked_for_and_wrong_tries_are_held_in_words(
    nursery: Served, first_link: str, visit: Callable[..., Page]
) -> None:
    page = visit(nursery, first_link)
    set_password(page, "Ana Seabra", ANA)
    sign_in(page, "ana@river.example", ANA)
    page.goto(nursery.address("account.page"))
    follow(page, "Switch on")
    codes = pyotp.TOTP("".join(page.locator("code.secret").inner_text().split()))
    assert faults(page) == []
    fill(page, code=codes.now())
    press(page, "Switch on")
    told(page, "From now on signing in needs a code.")
    leave_by(page.get_by_role("button", name="Sign out", exact=True))

    sign_in(page, "ana@river.example", ANA)
    heading(page, "Your code")
    assert faults(page) == []
    # One code is good once; that of the next half minute is taken already.
    fill(page, code=codes.at(dt.datetime.now(dt.UTC) + dt.timedelta(seconds=30)))
    press(page, "Sign in")
    expect(page.get_by_role("banner").get_by_role("link", name="Ana Seabra")).to_be_visible()
    told(page, "The second factor of your account was switched on.")
    leave_by(page.get_by_role("button", name="Sign out", exact=True))
    page.goto(nursery.address("account.page"))
    heading(page, "Sign in")

    for _try in range(5):
        sign_in(page, "ana@river.example", "a wrong password")
        expect(page.get_by_role("alert")).to_contain_text("E-mail address and password do not fit together.")
    sign_in(page, "ana@river.example", ANA)
    expect(page.get_by_role("alert")).to_contain_text("Too many wrong tries. Wait 15 minutes, then try again.")
    assert faults(page) == []


def test_the_demo_is_looked_at_as_somebody_else(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo)
    leave_by(page.get_by_role("banner").get_by_role("link", name="Act as …"))
    assert faults(page) == []
    press(page, "River Fund")

    expect(page.get_by_role("banner").get_by_role("link", name="River Fund")).to_be_visible()
    expect(page.get_by_role("banner").get_by_role("link", name="Settings", exact=True)).to_have_count(0)
    page.goto(own_demo.address("people.list_page"))
    heading(page, "This page is not open to you")
