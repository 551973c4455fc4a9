"""Who planted, and whether the hours can be theirs: the same for forms and files."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.services.limits import Bounds

#: Ground that one planting covers, m²; a square kilometre is a slip of the unit.
AREA_M2 = Bounds(0, 1_000_000, above=True)
VOLUNTEERS = Bounds(0, 10_000)
HOURS = Bounds(0, 100_000, above=True)
#: A planting is of one day.
_DAY = 24
#: Between names; “and” in the languages of the product.
_BETWEEN = re.compile(r"[,;+&/\n]|\b(?:and|e|y)\b", re.IGNORECASE)


def people_counted(people: str, volunteers: int | None) -> int:
    """How many planted at most, as far as it is written: names, numbers such as “crew of 6”, and volunteers."""
    named = 0
    for part in _BETWEEN.split(people):
        if part.strip():
            number = re.search(r"\d{1,4}", part)
            named += max(int(number[0]), 1) if number else 1
    return named + (volunteers or 0)


def refuse_hours(values: Mapping[str, Any]) -> dict[str, str]:
    """Hours of one day are at most 24 for each person; nobody named counts as one."""
    hours = values.get("hours")
    if hours is None:
        return {}
    people = people_counted(values.get("people") or "", values.get("volunteers"))
    if hours <= _DAY * max(people, 1):
        return {}
    if not people:
        told = _(
            "%(hours)s hours in one day are those of several people. Say who planted, or how many volunteers.",
            hours=format_number(hours, 2),
        )
        return {"hours": told}
    told = ngettext(
        "%(hours)s hours are more than 24 for %(num)s person. Correct them, or write all people down, by names"
        " or as a number such as “crew of 6”.",
        "%(hours)s hours are more than 24 for each of %(num)s people. Correct them, or write all people down, by"
        " names or as a number such as “crew of 6”.",
        people,
        hours=format_number(hours, 2),
    )
    return {"hours": told}
