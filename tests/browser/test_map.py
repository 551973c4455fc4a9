"""The map and its zones: brought in, refused, taken over; zoomed by keys, wheel and hand; printed on one page."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import Complaints, faults
from tests.browser.serving import Served
from tests.browser.steps import fill, go, heading, leave_by, press, told

pytestmark = pytest.mark.browser


def zone_file(*, swapped: bool = False) -> dict[str, Any]:
    """A file with one region around the demo's places."""
    ring = [[-6.3, 38.9], [-4.5, 38.9], [-4.5, 40.1], [-6.3, 40.1], [-6.3, 38.9]]
    ring = [[y, x] for x, y in ring] if swapped else ring
    feature = {
        "type": "Feature",
        "properties": {"rp_code": "EX-1", "rp_name": "Whole example"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    content = json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()
    return {"name": "regions.geojson", "mimeType": "application/geo+json", "buffer": content}


def look_at(page: Page, file: Any) -> None:
    go(page, "Map", "Regions and basins")
    leave_by(page.get_by_role("link", name="Bring zones in"))
    page.get_by_label("GeoJSON file").set_input_files(file)
    press(page, "Look at the file")
    heading(page, "Look before you bring them in")


def drawn(page: Page) -> int:
    """How often the map was drawn anew by the script."""
    return int(page.locator("#map").get_attribute("data-drawn") or 0)


def zoom(page: Page) -> float:
    return float(page.locator("svg.map:visible").get_attribute("data-zoom") or 0)


def wait_for_drawing(page: Page, before: int) -> None:
    expect(page.locator("#map")).to_have_attribute("data-drawn", str(before + 1))


def test_zones_are_brought_in_for_one_species(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo)
    complaints = Complaints(page)
    look_at(page, zone_file())
    assert page.locator("#features tbody tr").inner_text().split("\t")[:3] == ["1", "EX-1", "Whole example"]
    assert faults(page) == []

    fill(page, species_id="Salix alba", source="Example decree of 2008", jurisdiction="Example")
    press(page, "Look again")
    row = page.locator("#features tbody tr")
    expect(row).to_contain_text("EX-1")
    assert row.locator("td").all_inner_texts()[-2:] == ["1", "14"]
    assert faults(page) == []
    press(page, "Put 1 zone on the map")

    told(page, "1 zone is on the map.")
    page.goto("/populations/6")
    expect(page.locator("#on-the-map-region")).to_contain_text("The map says EX-1, the record says GV-M.")
    assert complaints.take() == []


def test_a_file_with_latitude_first_is_refused(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo)

    look_at(page, zone_file(swapped=True))

    expect(page.locator("#faults")).to_contain_text("GeoJSON has longitude first, then latitude: swap them.")
    expect(page.get_by_role("button", name=re.compile("on the map"))).to_have_count(0)
    assert faults(page) == []


def test_the_code_of_the_map_is_taken_over(
    own_demo: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, "/populations", **phone)
    row = page.locator("#populations tbody tr", has_text="P-006")
    expect(row).to_contain_text("map: GV-B")

    leave_by(row.get_by_role("link", name="P-006"))
    expect(page.locator("#on-the-map-region")).to_contain_text("The map says GV-B, the record says GV-M.")
    assert faults(page) == []
    press(page, "Take over GV-B")

    told(page, "The record now says GV-B, as the map does.")
    expect(page.locator("#on-the-map-region")).to_contain_text("Verified on the map.")


def test_the_map_zooms_and_moves_by_keyboard(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, "/map")
    complaints = Complaints(page)
    hold = page.locator(".map-hold")
    hold.focus()

    for keys, expected in ((("+", "+"), 1.0), (("ArrowRight",), 1.0), (("-",), 0.5), (("0",), 0.0)):
        before = drawn(page)
        for key in keys:
            page.keyboard.press(key)
        wait_for_drawing(page, before)
        assert zoom(page) == expected
    assert complaints.take() == []
    expect(hold).to_be_focused()


def test_the_map_follows_wheel_and_drag_and_keeps_its_address(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season, "/map?species=quercus-suber")
    box = page.locator("svg.map:visible").bounding_box()
    assert box
    page.mouse.move(box["x"] + 60, box["y"] + 60)
    page.mouse.wheel(0, -1)  # scrolls the page until the map was clicked
    page.mouse.click(box["x"] + 60, box["y"] + 60)

    before = drawn(page)
    page.mouse.wheel(0, -300)
    wait_for_drawing(page, before)
    assert zoom(page) == 1
    longitude = float(page.locator("svg.map:visible").get_attribute("data-lon") or 0)
    before = drawn(page)
    page.mouse.down()
    page.mouse.move(box["x"] + 260, box["y"] + 60, steps=5)
    page.mouse.up()
    wait_for_drawing(page, before)

    assert float(page.locator("svg.map:visible").get_attribute("data-lon") or 0) < longitude
    assert ("species=quercus-suber" in page.url, "zoom=1" in page.url) == (True, True)
    page.reload()
    assert zoom(page) == 1


def test_two_fingers_zoom_one_moves_sideways_and_a_scroll_of_the_page_leaves_the_map_alone(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(demo_season, "/map", **phone)
    page.locator(".map-hold").scroll_into_view_if_needed()
    box = page.locator("svg.map:visible").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    glass = page.context.new_cdp_session(page)

    def fingers(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": left, "y": top, "id": number} for number, (left, top) in enumerate(places)]
        glass.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    before = drawn(page)
    fingers("touchStart", (x, y - 20), (x, y + 20))
    for apart in range(25, 85, 10):
        fingers("touchMove", (x, y - apart), (x, y + apart))
    fingers("touchEnd")
    wait_for_drawing(page, before)
    assert zoom(page) > 1

    longitude = float(page.locator("svg.map:visible").get_attribute("data-lon") or 0)
    before = drawn(page)
    fingers("touchStart", (x, y))
    for way in range(10, 100, 15):
        fingers("touchMove", (x + way, y))
    fingers("touchEnd")
    wait_for_drawing(page, before)
    assert float(page.locator("svg.map:visible").get_attribute("data-lon") or 0) < longitude

    address, before, scrolled = page.url, drawn(page), page.evaluate("scrollY")
    fingers("touchStart", (x, y))
    for way in range(10, 130, 15):
        fingers("touchMove", (x, y - way))
    fingers("touchEnd")
    page.wait_for_function("before => scrollY > before", arg=scrolled)
    page.wait_for_timeout(600)  # longer than the map rests before it is drawn anew
    assert (page.url, drawn(page)) == (address, before)


def test_the_buttons_work_without_scripts(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, "/map", java_script_enabled=False)

    leave_by(page.get_by_role("link", name="Zoom in", exact=True))
    leave_by(page.get_by_role("link", name="Zoom in", exact=True))
    assert zoom(page) == 2
    leave_by(page.get_by_role("link", name="Whole map"))

    assert zoom(page) == 0


def test_a_mark_of_several_zooms_in_and_a_mark_of_one_leads_to_its_page(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season, "/map")
    before = drawn(page)
    page.locator("svg.map:visible").get_by_role("link", name="9 populations:").focus()
    page.keyboard.press("Enter")
    wait_for_drawing(page, before)
    assert zoom(page) == 2
    page.go_back()
    wait_for_drawing(page, before + 1)
    assert zoom(page) == 0

    leave_by(page.locator("svg.map:visible").get_by_role("link", name="Population: P-020"))

    expect(page.get_by_role("heading", level=1)).to_contain_text("P-020")


def test_lines_are_narrowed_to_a_site(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, "/map")

    page.get_by_role("main").get_by_label("Planting site", exact=True).select_option("S-012")
    press(page, "Show")

    sites = set(page.locator("#lines tbody td:nth-child(2)").all_inner_texts())
    assert sites == {"S-012"}


def test_the_map_prints_on_one_page(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, "/map")

    pdf = page.pdf(prefer_css_page_size=True, print_background=True)

    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1
    size = re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert size
    assert float(size[1]) > float(size[2])


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize(
    "address",
    [
        "/map",
        "/map?lat=39.41&lon=-5.26&zoom=4",
        "/zones",
        "/zones/4",
        "/zones/new",
        "/climates",
        "/climates/new",
        "/sites/13",
    ],
)
def test_pages_of_the_map_have_no_fault(
    demo_season: Served, visit: Callable[..., Page], address: str, width: int
) -> None:
    page = visit(demo_season, "", viewport={"width": width, "height": 900})
    complaints = Complaints(page)

    page.goto(address)

    assert [*faults(page), *complaints.take()] == []


def test_a_line_of_allocation_leads_by_keyboard_to_its_facts(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    page.goto("/map")
    ways = page.locator("svg.map:visible a.map-way")
    name, row = ways.first.get_attribute("aria-label"), ways.first.get_attribute("href")
    assert name is not None
    assert row is not None
    assert name.endswith("plants")
    ways.first.focus()
    page.keyboard.press("Enter")

    facts = page.locator(f"#lines tbody tr{row}")
    expect(facts).to_be_in_viewport()
    assert facts.get_by_role("link").count() == 4
    assert faults(page) == []
