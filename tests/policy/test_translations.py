"""Every text for people can be found by the translators' tools."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from babel.messages.extract import extract_from_dir

MARKS = {"_": None, "_l": None, "gettext": None, "lazy": None, "ngettext": (1, 2)}
PLACES = [("nursery/**.py", "python"), ("templates/**.html", "jinja2")]
UNNAMED = re.compile(r"%(?!\(\w+\)s)")


def test_all_marked_texts_are_extracted_with_named_placeholders(root: Path) -> None:
    options = {"templates/**.html": {"trimmed": "true", "silent": "false"}}
    found = list(extract_from_dir(str(root), PLACES, options, keywords=MARKS))
    texts = {text for *_, message, _, _ in found for text in ([message] if isinstance(message, str) else message)}

    assert len(texts) > 100
    formatted = {text for text in texts if text and re.search(r"%\(\w+\)s", text)}
    assert {text for text in formatted if UNNAMED.search(text.replace("%%", ""))} == set()


def test_no_text_is_put_together_before_it_is_marked(root: Path) -> None:
    loose = [
        f"{file.relative_to(root)}:{node.lineno}"
        for file in (root / "nursery").rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("_", "_l", "ngettext")
        for text in node.args[: 2 if node.func.id == "ngettext" else 1]
        if not (isinstance(text, ast.Constant) and isinstance(text.value, str))
    ]

    assert loose == []
