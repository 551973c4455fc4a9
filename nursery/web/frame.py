"""The frame of every page: what its head loads, and the way around.

Each piece is drawn once for a language and for what a person may see, not once a request.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from flask import Flask, current_app, request
from flask_wtf.csrf import generate_csrf
from markupsafe import Markup

from nursery.i18n import LOCALES, current_locale, language_name
from nursery.services.remembering import remembered
from nursery.web.access import acting
from nursery.web.gaps import Gapped, gap
from nursery.web.listing import ListView
from nursery.web.navigation import navigation, seen_by
from nursery.web.once import once
from nursery.web.session import db

Piece = TypeVar("Piece", Markup, Gapped)
#: Sections along the way of the plant; the others stand beside it.
STEPS = ("season", "collect", "seed", "plan", "grow", "plant", "report")


def register(app: Flask) -> None:
    """Templates draw the frame by these."""
    app.jinja_env.globals.update(
        page_head=page_head, masthead=masthead, section_menu=section_menu, while_unchanged=while_unchanged
    )


def page_head() -> Markup:
    """Styles and scripts that every page loads."""
    return _drawn("components/head.html", Markup)


def masthead(section: str, search_text: str) -> Markup:
    """Wordmark, search, language, and all sections with their pages, the current one marked."""
    who, demo = acting(), current_app.config["NURSERY"].demo
    told = {"section": section, "is_signed_in": who is not None, "demo": demo}
    return _drawn("components/masthead.html", Gapped.of, **told).filled(
        {
            "name": who.name if who else "",
            "token": generate_csrf(),
            "here": request.script_root + request.full_path.rstrip("?"),
            "search_text": search_text,
        }
    )


def section_menu(section: str) -> Markup:
    """The pages of the current section, with the one marked that is open."""
    pages = [page["url"] for entry in navigation() if entry["section"] == section for page in entry["children"]]
    here = request.path if request.path in pages else ""
    return _drawn("components/section_menu.html", Markup, section=section, here=here)


def while_unchanged(macro: Any, listed: ListView, *more: Hashable) -> Markup:
    """What a macro draws of a list but its rows; drawn again when a record changed, or something else is asked."""
    key = (macro.name, listed.key, seen_by(), more)
    return remembered(db(), key, lambda: Markup(macro(listed, *more)))  # noqa: S704 -- a macro of ours


def _drawn(template: str, form: Callable[[str], Piece], **values: Hashable) -> Piece:
    """The template drawn with nothing but these values, the way around, and gaps."""

    def draw() -> Piece:
        found = current_app.jinja_env.get_template(template)
        return form(
            found.render(
                navigation=navigation(), steps=STEPS, root=request.script_root, gap=gap,
                locale=current_locale(), locales=[(code, language_name(code)) for code in LOCALES], **values,
            )
        )  # fmt: skip

    return once((template, seen_by(), *values.values()), draw)
