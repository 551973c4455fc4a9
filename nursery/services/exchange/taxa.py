"""A scientific name in its parts."""

from __future__ import annotations

from typing import NamedTuple

_RANKS = {"subsp.": "subspecies", "var.": "variety", "f.": "form"}


class Taxon(NamedTuple):
    """Parts of a name; ``below`` is all after the epithet, with its rank before it."""

    genus: str
    epithet: str
    below: str
    rank: str


def split_name(name: str) -> Taxon:
    """``Olea europaea var. sylvestris`` in its parts; the sign of a hybrid stays with the epithet."""
    words = name.split()
    genus, rest = (words[0], words[1:]) if words else ("", [])
    crossed = bool(rest) and rest[0] in {"×", "x"}
    epithet = " ".join(rest[: 2 if crossed else 1])
    below = rest[2 if crossed else 1 :]
    rank = _RANKS.get(below[0], "species") if below else ("species" if epithet else "genus")
    return Taxon(genus, epithet, " ".join(below), rank)
