"""A piece of page that is drawn once, with gaps for the few words that differ from request to request."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup, escape

#: A separator that stands in no page: it may not be in HTML at all.
_EDGE = "\x1f"


def gap(name: str) -> str:
    """What a template is given in place of a word that is not known yet."""
    return f"{_EDGE}{name}{_EDGE}"


@dataclass(frozen=True)
class Gapped:
    """Text, name of a gap, text, … in turns."""

    parts: tuple[str, ...]

    @classmethod
    def of(cls, drawn: str) -> Gapped:
        """Cut what a template gave at its gaps."""
        return cls(tuple(re.split(f"{_EDGE}(.*?){_EDGE}", drawn)))

    def filled(self, words: Mapping[str, str]) -> Markup:
        """The piece with its words, escaped."""
        texts = (part if place % 2 == 0 else escape(words[part]) for place, part in enumerate(self.parts))
        return Markup("".join(texts))  # noqa: S704 -- a template of ours, which escapes, and escaped words
