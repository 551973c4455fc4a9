"""A paper as it is printed: texts only, in the language of the paper."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Section:
    """Labels and values that stand together."""

    title: str
    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Passport:
    """The elements of one plant passport, and how many are alike."""

    name: str
    operator: str
    code: str
    country: str
    count: int = 1


@dataclass(frozen=True, slots=True)
class Printed:
    """Everything on a paper; ``state`` says whether it is a draft, signed or void."""

    title: str
    number: str
    day: dt.date
    language: str
    state: str
    is_void: bool = False
    sections: tuple[Section, ...] = ()
    #: Species, code, how it stands and how much: the lines of a delivery note.
    lines: tuple[tuple[str, ...], ...] = ()
    #: Name and day of whoever signed; empty leaves a rule for the pen.
    signed_by: str = ""
    signed_on: str = ""
    rules: str = ""
    notices: tuple[str, ...] = ()
    #: ``#rrggbb`` of the category's label, and the category in words.
    colour: str = ""
    category: str = ""
    count: int = 1
    #: Of labels: the number of their document, which a running number follows.
    document: str = ""
    code: str = ""
    #: Of labels: the row in which they differ, and what each says there; empty where all are alike.
    each_label: str = ""
    each: tuple[str, ...] = ()
    official_title: str = ""
    #: Of passports: organisms of the protected zone that the plants go into.
    zone: str = ""
    passports: tuple[Passport, ...] = ()
