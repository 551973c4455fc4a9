"""What can be wrong with a page: seen by axe, by the console, or by its own width."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playwright.sync_api import ConsoleMessage, Page, Request

AXE = (Path(__file__).parent / "vendor/axe-core/axe.min.js").read_text(encoding="utf-8")
#: WCAG 2.2, levels A and AA.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
WIDE, NARROW = {"width": 1280, "height": 900}, {"width": 390, "height": 844}

#: Two frames later styles, media queries and observers have settled.
_SETTLED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
_RUN_AXE = """async ([within, rules]) => {
  const found = await axe.run(within, {runOnly: rules, resultTypes: ["violations"], preload: false})
  return found.violations
}"""
_TOO_WIDE = """() => {
  const room = document.documentElement.clientWidth
  if (document.documentElement.scrollWidth <= room) return []
  const scrolls = element => element && element !== document.body
    && (getComputedStyle(element).overflowX !== "visible" || scrolls(element.parentElement))
  const found = [...document.querySelectorAll("body *")]
    .filter(e => e.checkVisibility() && e.getBoundingClientRect().right > room + 0.5 && !scrolls(e.parentElement))
    .map(e => `${e.tagName.toLowerCase()}.${e.getAttribute("class") || ""}`)
    .slice(0, 5)
  // An element placed absolutely widens the page from within a region that scrolls.
  return found.length ? found : [`something placed absolutely, to ${document.documentElement.scrollWidth} px`]
}"""
#: Explanations close each other by their name, so the name goes first. The menu is the same on every page, and
#: in a long table one explanation looks like the next: the first ones of each kind will do.
_UNFOLD = """() => {
  const kinds = Map.groupBy(document.querySelectorAll("details:not(.menu)"), details => details.className)
  const folded = [...kinds.values()].flatMap(alike => alike.slice(0, 12))
  for (const details of folded) {
    details.removeAttribute("name")
    details.open = true
  }
  return folded.length
}"""


class Complaints:
    """What the browser complained of: console errors, refused content, scripts that failed."""

    def __init__(self, page: Page) -> None:
        self.heard: list[str] = []
        page.on("console", self._listen)
        page.on("pageerror", lambda error: self.heard.append(f"script failed: {error}"))
        page.on("requestfailed", self._miss)

    def _listen(self, message: ConsoleMessage) -> None:
        # Breaches of the content security policy are told as console errors too.
        if message.type in {"error", "warning"}:
            self.heard.append(f"console: {message.text}")

    def _miss(self, request: Request) -> None:
        if request.failure != "net::ERR_ABORTED":  # the next page was asked for before the icon had come
            self.heard.append(f"not loaded: {request.url}: {request.failure}")

    def take(self) -> list[str]:
        """Those since the last time."""
        heard, self.heard = self.heard, []
        return heard


def faults(page: Page) -> list[str]:
    """Everything wrong with the page as it stands."""
    page.evaluate(_SETTLED)
    return [*_frame(page), *_width(page), *_axe(page, "html")]


def folded_faults(page: Page) -> list[str]:
    """Everything wrong with what the page only shows when asked: explanations, questions, small print."""
    if not page.evaluate(_UNFOLD):
        return []
    page.evaluate(_SETTLED)
    return [*_width(page), *_axe(page, "details[open]")]


def _frame(page: Page) -> list[str]:
    headings = page.locator("h1").all_inner_texts()
    found = []
    if len(headings) != 1 or not headings[0].strip():
        found.append(f"headings of the first level: {headings}")
    if page.title().startswith(" "):
        found.append("no title")
    return found


def _width(page: Page) -> list[str]:
    wide: list[str] = page.evaluate(_TOO_WIDE)
    return [f"scrolls sideways: {', '.join(wide)}"] if wide else []


def _axe(page: Page, within: str) -> list[str]:
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE)
    violations: list[dict[str, Any]] = page.evaluate(_RUN_AXE, [within, RULES])
    return [
        f"{violation['id']}: {violation['help']}: "
        + "; ".join(str(node["target"][0]) + " " + node["failureSummary"].split("\n")[-1].strip()
                    for node in violation["nodes"][:3])
        for violation in violations
    ]  # fmt: skip
