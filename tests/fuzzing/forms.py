"""Every form of every page, found by looking at the pages; and every address that is posted to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urlsplit

from flask import Flask
from sqlalchemy.orm import Session
from werkzeug.exceptions import HTTPException
from werkzeug.routing import Rule

from nursery.database import make_engine
from tests.fuzzing.tally import Tally
from tests.fuzzing.world import World
from tests.policy.addresses import values_of

#: Posted where no page shows the form: what such addresses read.
GUESSED = {"reason": "", "value": "", "next": "/", "task": "1", "name": ""}


@dataclass
class Form:
    """One address that is posted to, and the fields as they stand on a page."""

    endpoint: str
    path: str
    fields: dict[str, str] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)


class Page(HTMLParser):
    """The forms of a page with their fields as they stand."""

    def __init__(self, html: str, here: str) -> None:
        super().__init__()
        self.here = here
        self.forms: list[Form] = []
        self.named: dict[str, Form] = {}
        self.open: Form | None = None
        self.choosing = self.typing = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        if tag == "form":
            self.open = None
            if given.get("method", "").lower() == "post":
                self.open = Form("", given.get("action") or self.here)
                self.forms.append(self.open)
                self.named[given.get("id", "")] = self.open
            return
        form, name = self.named.get(given["form"]) if "form" in given else self.open, given.get("name", "")
        if form is not None and name and name != "csrf_token":
            self._keep(form, tag, name, given)
        elif tag == "option" and self.choosing and self.open is not None and "selected" in given:
            self.open.fields[self.choosing] = given.get("value", "")

    def _keep(self, form: Form, tag: str, name: str, given: dict[str, str]) -> None:
        if given.get("type") == "file":
            form.files.append(name)
        elif tag == "select":
            self.choosing = name
            form.fields.setdefault(name, "")
        elif tag == "textarea":
            self.typing = name
            form.fields[name] = ""
        elif tag in {"input", "button"}:
            ticked = given.get("type") not in {"radio", "checkbox"} or "checked" in given
            form.fields.setdefault(name, given.get("value", "") if ticked else "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.open = None
        elif tag == "select":
            self.choosing = ""
        elif tag == "textarea":
            self.typing = ""

    def handle_data(self, data: str) -> None:
        if self.typing and self.open is not None:
            self.open.fields[self.typing] += data


def every_form(world: World, tally: Tally) -> list[Form]:
    """One form for every route that takes a post, with all fields that any page shows for it."""
    engine = make_engine(world.url)
    with Session(engine) as session, world.app.test_request_context():
        adapter = world.app.url_map.bind("localhost")
        paths: dict[str, str] = {}
        pages: list[str] = []
        for rule in _rules(world.app):
            path = adapter.build(rule.endpoint, values_of(rule, session), method=_method(rule))
            if "POST" in (rule.methods or ()) and not path.startswith("/api/"):
                paths[rule.endpoint] = path
            if "GET" in (rule.methods or ()) and _is_page(path):
                pages.append(path)
    engine.dispose()
    found: dict[str, Form] = {}
    for path in pages:
        for form in _forms_of(world, tally, path):
            kept = found.setdefault(form.endpoint, form)
            kept.fields = {**form.fields, **kept.fields}
            kept.files = sorted({*kept.files, *form.files})
    for endpoint, path in paths.items():
        found.setdefault(endpoint, Form(endpoint, path, dict(GUESSED)))
    return [found[endpoint] for endpoint in sorted(paths)]


def _rules(app: Flask) -> Iterator[Rule]:
    return (rule for rule in app.url_map.iter_rules() if rule.endpoint != "static")


def _method(rule: Rule) -> str:
    return "GET" if "GET" in (rule.methods or ()) else "POST"


def _is_page(path: str) -> bool:
    ending = path.rsplit("/", 1)[-1].rpartition(".")[2]
    return not path.startswith("/api") and ending not in {
        "csv", "xlsx", "pdf", "svg", "png", "json", "zip", "ics", "geojson", "css", "js",
    }  # fmt: skip


def _forms_of(world: World, tally: Tally, path: str) -> Iterator[Form]:
    try:
        with world.client.get(path) as answer:
            tally.note("pages", path, answer.status_code)
            if answer.status_code != 200 or answer.mimetype != "text/html":
                return
            html = answer.get_data(as_text=True)
    except Exception as error:  # noqa: BLE001 -- all of them are counted
        tally.note_fault("pages", path, error, "")
        return
    adapter = world.app.url_map.bind("localhost")
    for form in Page(html, path).forms:
        try:
            form.endpoint, _values = adapter.match(urlsplit(form.path).path, method="POST")
        except HTTPException:
            continue
        yield form
