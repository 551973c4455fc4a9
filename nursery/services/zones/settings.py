"""What a person says about a zone file: what it is, whose it is, and which property is which."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nursery.models.zones import ZoneKind
from nursery.services.outlines import Feature

#: Names under which authorities keep a zone's code and its name, in several languages; common practice, no source.
_CODE = re.compile(r"cod|clave|key|ident|^id|_id|regi|zon|^rp|_rp|num|basin|cuenca|bacia", re.IGNORECASE)
_NAME = re.compile(r"nam|nom|lab|desc|denom|title|titulo", re.IGNORECASE)
_LOWEST = re.compile(r"(alt|elev|cota|height).*(min|low|from)|(min|low).*(alt|elev|cota)", re.IGNORECASE)
_HIGHEST = re.compile(r"(alt|elev|cota|height).*(max|high|to)|(max|high).*(alt|elev|cota)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ZoneSettings:
    """Of a whole file; the last four name properties of its features, empty where there is none."""

    kind: ZoneKind = ZoneKind.REGION
    species_id: int | None = None
    jurisdiction: str = ""
    source: str = ""
    #: Zones on the map with the same codes make room.
    replaces: bool = False
    code: str = ""
    name: str = ""
    lowest: str = ""
    highest: str = ""


@dataclass(frozen=True, slots=True)
class Property:
    """A property that features of the file have."""

    key: str
    example: str
    #: How many features have a value, and how many different ones there are.
    filled: int
    different: int


def properties_of(features: Sequence[Feature]) -> list[Property]:
    """Properties with plain values, in the order in which the file has them."""
    values: dict[str, list[str]] = {}
    for feature in features:
        for key, value in feature.properties.items():
            if (text := plain_text(value)) is not None:
                values.setdefault(key, []).append(text)
    return [
        Property(key, next((text for text in texts if text), ""), sum(map(bool, texts)), len(set(texts)))
        for key, texts in values.items()
    ]


def plain_text(value: Any) -> str | None:
    """A property's value as text, None for what is no single value; 12.0 is the code 12."""
    if value is None:
        return ""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        return None
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return " ".join(str(value).split())


def settle(asked: Mapping[str, Any], features: Sequence[Feature]) -> ZoneSettings:
    """A person's own choice where she made one; the rest is guessed from the file."""
    properties = properties_of(features)
    keys = {one.key for one in properties}
    chosen = {
        key: asked[key] for key in ("kind", "species_id", "jurisdiction", "source", "replaces") if key in asked
    }
    guesses = _guesses(properties, len(features))
    fields: dict[str, Any] = {
        field: asked[field] if asked.get(field) in keys | {""} else guesses[field]
        for field in ("code", "name", "lowest", "highest")
    }
    return ZoneSettings(**chosen, **fields)


def _guesses(properties: Sequence[Property], features: int) -> dict[str, str]:
    telling = [one for one in properties if one.filled == features and one.different == features]
    code = next((one.key for one in telling if _CODE.search(one.key) and not _NAME.search(one.key)), "")
    if not code:  # a property by its name, though codes come twice: the person then reads where
        code = next((one.key for one in properties if one.filled == features and _CODE.search(one.key)), "")
    if not code:
        code = min(telling, key=lambda one: len(one.example)).key if telling else ""
    rest = [one for one in properties if one.key != code]
    return {
        "code": code,
        "name": next((one.key for one in rest if _NAME.search(one.key)), ""),
        "lowest": next((one.key for one in rest if _LOWEST.search(one.key)), ""),
        "highest": next((one.key for one in rest if _HIGHEST.search(one.key)), ""),
    }
