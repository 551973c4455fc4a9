"""The translations fit their originals: same places to fill, same marks, nothing that cannot be shown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

PLACES = re.compile(r"%\(\w+\)s|%%")


@pytest.mark.parametrize("language", ["pt", "es"])
def test_every_translation_fills_the_places_of_its_original(root: Path, language: str) -> None:
    with (root / "nursery" / "translations" / f"{language}.po").open("rb") as file:
        catalog = read_po(file, locale=language)
    done = [message for message in catalog if message.id and message.string and any(message.string)]

    assert len(done) > 2000
    wrong = [
        (original, translated)
        for message in done
        for original, translated in zip(texts(message.id), texts(message.string), strict=False)
        if set(PLACES.findall(original)) != set(PLACES.findall(translated))
    ]
    assert wrong == []


def texts(text: str | tuple[str, ...] | list[str]) -> tuple[str, ...]:
    """One text, or its forms by number."""
    return (text,) if isinstance(text, str) else tuple(text)
