"""What a browser says it is, in words by which somebody knows it again."""

from __future__ import annotations

from nursery.i18n import gettext as _

#: Marks in what browsers say, the telling ones first: each says that it is several others as well.
_BROWSERS = {
    "Edg": "Edge", "OPR/": "Opera", "SamsungBrowser/": "Samsung Internet",
    "Firefox/": "Firefox", "FxiOS/": "Firefox", "Chrome/": "Chrome", "CriOS/": "Chrome", "Safari/": "Safari",
}  # fmt: skip
_SYSTEMS = {
    "Android": "Android", "iPhone": "iPhone", "iPad": "iPad", "CrOS": "ChromeOS", "Windows": "Windows",
    "Macintosh": "macOS", "Linux": "Linux",
}  # fmt: skip


def device_name(said: str) -> str:
    """Browser and system; what was said where neither is known."""
    browser = next((name for mark, name in _BROWSERS.items() if mark in said), "")
    system = next((name for mark, name in _SYSTEMS.items() if mark in said), "")
    if browser and system:
        return _("%(browser)s on %(system)s", browser=browser, system=system)
    return browser or system or said or _("unknown")
