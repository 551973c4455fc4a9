"""From what a person types to a species: scientific names, synonyms, common names, abbreviations."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections import defaultdict
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from nursery.catalog.entries import Catalog, SpeciesEntry

_RANKS = {"subsp": "subsp.", "ssp": "subsp.", "subspecies": "subsp.", "var": "var.", "f": "f."}


def find_species(catalog: Catalog, text: str) -> SpeciesEntry | None:
    """The one species that a text names, or None when it names none or more than one.

    Accepts the key, the scientific name or a synonym with or without authorship, a common name,
    and an abbreviated genus (``Q. suber``); case, accents and hyphens do not matter.
    """
    key = text.strip().lower()
    if key in catalog.species:
        return catalog.species[key]
    names = _names(catalog)
    for form, known in ((plain(text), names.all), (canonical(text), names.scientific)):
        found = known.get(form, ())
        if len(found) == 1:
            return catalog.species[found[0]]
    return None


def nearest(catalog: Catalog, text: str, limit: int = 3) -> list[SpeciesEntry]:
    """The species whose names are most like the text, best first; those that hold it as whole words come first."""
    names = _names(catalog).all
    wanted = plain(text)
    near = difflib.get_close_matches(wanted, list(names), n=limit * 4, cutoff=0.55)
    holding = sorted((name for name in names if f" {wanted} " in f" {name} "), key=len) if wanted else []
    ordered = dict.fromkeys(key for name in [*holding, *near] for key in names[name])
    return [catalog.species[key] for key in list(ordered)[:limit]]


def plain(text: str) -> str:
    """Lower case without accents, hyphens or spare spaces; ranks written one way."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    words = bare.replace("-", " ").replace("_", " ").casefold().split()
    return " ".join(_RANKS.get(word.rstrip("."), word) if index > 1 else word for index, word in enumerate(words))


def canonical(text: str) -> str:
    """A scientific name without its authors: genus, epithet and, with a rank, the lower epithet."""
    # “Q.suber” and “q suber” are abbreviations of a genus too; an epithet keeps its hyphen until it is compared.
    words = re.sub(r"^(\w)(?:\.\s*|\s+)", r"\1. ", text.strip()).replace("_", " ").split()
    kept = words[:2]
    for rank, epithet in pairwise(words[2:]):
        if rank.casefold().rstrip(".") in _RANKS:
            kept += [rank, epithet]
    return plain(" ".join(kept))


@dataclass(frozen=True, slots=True)
class _Names:
    """Species keys by every name, and by scientific names only."""

    all: dict[str, tuple[str, ...]]
    scientific: dict[str, tuple[str, ...]]


@lru_cache(maxsize=8)
def _names(catalog: Catalog) -> _Names:
    scientific: dict[str, dict[str, None]] = defaultdict(dict)
    common: dict[str, dict[str, None]] = defaultdict(dict)
    for entry in catalog.species.values():
        for name in (entry.scientific_name, *entry.synonyms):
            genus, _, rest = plain(name).partition(" ")
            for form in (f"{genus} {rest}", f"{genus[0]}. {rest}"):
                scientific[form][entry.key] = None
        for names in entry.common_names.values():
            for name in names:
                common[plain(name)][entry.key] = None
    every = {
        form: tuple({**scientific.get(form, {}), **common.get(form, {})}) for form in {**scientific, **common}
    }
    return _Names(all=every, scientific={form: tuple(keys) for form, keys in scientific.items()})
