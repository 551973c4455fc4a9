"""Templates compile, carry nothing inline, and leave no visible text untranslated."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flask import Flask

from nursery.app import create_app
from nursery.config import Settings

#: Symbols and names that read the same in every language.
SAME_EVERYWHERE = {"CSV", "XLSX", "JSON", "SVG", "API", "kg", "km", "ha", "mm", "cm", "WGS", "Ctrl"}
INLINE = re.compile(r"<script(?![^>]*\ssrc=)|<style|\sstyle\s*=|\son[a-z]+\s*=|javascript:", re.IGNORECASE)
VISIBLE_ATTRIBUTE = re.compile(r"\s(?:alt|title|placeholder|aria-label)=\"([^\"]*)\"")


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Flask:
    folder = tmp_path_factory.mktemp("templates")
    settings = Settings(
        database_url=f"sqlite:///{folder / 'none.sqlite'}", data_dir=folder, secret_key="for tests"
    )
    return create_app(settings, testing=True)


@pytest.fixture(scope="module")
def sources(root: Path) -> dict[str, str]:
    folder = root / "templates"
    return {file.relative_to(folder).as_posix(): file.read_text(encoding="utf-8") for file in folder.rglob("*.*")}


def without_jinja(source: str) -> str:
    """The HTML alone: statements, expressions, comments and translated blocks taken out."""
    source = re.sub(r"\{#.*?#\}", "", source, flags=re.DOTALL)
    source = re.sub(r"\{%-?\s*trans\b.*?%\}.*?\{%-?\s*endtrans\s*-?%\}", "", source, flags=re.DOTALL)
    # The block body_class and macros named css hold words of a class attribute.
    source = re.sub(r"\{%-?\s*macro css\b.*?endmacro\s*-?%\}", "", source, flags=re.DOTALL)
    source = re.sub(r"\{%-?\s*block body_class\b.*?endblock\s*-?%\}", "", source, flags=re.DOTALL)
    return re.sub(r"\{%.*?%\}|\{\{.*?\}\}", "", source, flags=re.DOTALL)


def words(text: str) -> list[str]:
    plain = re.sub(r"&\w+;|&#\d+;", " ", text)
    return [word for word in re.findall(r"[^\W\d_]{2,}", plain) if word not in SAME_EVERYWHERE]


def test_every_template_compiles(app: Flask, sources: dict[str, str]) -> None:
    for name, source in sources.items():
        assert app.jinja_env.compile(source, name) is not None


def test_nothing_is_inline(sources: dict[str, str]) -> None:
    found = {name: INLINE.findall(without_jinja(source)) for name, source in sources.items()}

    assert {name: marks for name, marks in found.items() if marks} == {}


def test_all_visible_text_is_translated(sources: dict[str, str]) -> None:
    left: dict[str, list[str]] = {}
    for name, source in sources.items():
        html = without_jinja(source)
        visible = words(re.sub(r"<[^>]*>", " ", html))
        visible += [word for value in VISIBLE_ATTRIBUTE.findall(html) for word in words(value)]
        if visible:
            left[name] = visible

    assert left == {}


def test_every_page_has_a_title(sources: dict[str, str]) -> None:
    pages = {name: source for name, source in sources.items() if '{% extends "base.html" %}' in source}

    assert [name for name, source in pages.items() if not re.search(r"\{%-?\s*block title", source)] == []
