"""The findings of a plan line as sentences in the reader's language."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nursery.catalog import SpeciesEntry
from nursery.catalog.vocabulary import protocol_label
from nursery.i18n import format_date, format_number, format_percent, lazy
from nursery.i18n import gettext as _
from nursery.models.plans import LineStatus
from nursery.services.seasons import season_name

#: A word and a tone (``ok``, ``waiting``, ``caution``, ``stop``) for each status.
STATUS = {
    LineStatus.ON_TRACK: (lazy("In order"), "ok"),
    LineStatus.COLLECT: (lazy("Seed to collect"), "waiting"),
    LineStatus.SHORT: (lazy("Short of seed"), "caution"),
    LineStatus.LATE: (lazy("Too late"), "stop"),
}

#: The same of a line that is in order because all it needs grows already: nothing is sown for it any more.
GROWING = (lazy("Growing"), "ok")


def status_words(status: LineStatus, seeds: int | None = None) -> tuple[str, str]:
    """Word and tone of a line's status; ``seeds`` are those it still asks for, where they are known."""
    label, tone = GROWING if status is LineStatus.ON_TRACK and seeds == 0 else STATUS[status]
    return str(label), tone


_SHARES = {
    "local": lazy("Local sources give %(found)s of the plants; the site's strategy asks for %(limit)s."),
    "near": lazy("Near sources give %(found)s of the plants; the site's strategy asks for %(limit)s."),
    "far": lazy("Far sources give %(found)s of the plants; the site's strategy asks for %(limit)s."),
    "climate": lazy(
        "Sources of the climate to come give %(found)s of the plants; the site's strategy asks for %(limit)s."
    ),
}

#: ``(sentence, is it a way out?)`` by code; the places are filled by `sentence`.
_SENTENCES = {
    "nothing-wanted": (lazy("Nothing is wanted: the site has no area to reckon the density with."), False),
    "late": (lazy("Work would have had to begin on %(day)s: it can no longer be ready in this season."), False),
    "cannot-wait": (
        lazy("Seed of this species cannot live from its collecting season, ending %(day)s, until sowing."),
        False,
    ),
    "season-over": (
        lazy("The seed in hand does not suffice, and the last collecting season before sowing ended %(day)s."),
        False,
    ),
    "collect": (lazy("%(number)s seeds are still to be collected, by %(day)s."), False),
    "collect-cuttings": (lazy("%(number)s cuttings are still to be taken, by %(day)s."), False),
    "no-origin": (
        lazy("The site has neither a region of provenance nor a river basin, so no lot can be given to it."),
        False,
    ),
    "killed-in-store": (
        lazy(
            "%(number)s seeds in hand are left out (%(text)s): seed of this class dies when it freezes or dries,"
            " and no test since shows that it lives. Test it to use it."
        ),
        False,
    ),
    "rescue-protocol": (lazy("A shorter way could still work: %(text)s, beginning by %(day)s."), True),
    "earliest-season": (lazy("The earliest season that works is %(season)s, beginning by %(day)s."), True),
    "seed-elsewhere": (
        lazy("%(number)s seeds of other origins are in hand: using them needs a decision on origin."),
        True,
    ),
    "buy-in": (lazy("%(number)s plants of a lawful origin could be bought in."), True),
    "later-in-window": (lazy("Planting moves to a later day in the window, which opens %(day)s."), False),
    "outside-window": (
        lazy("The planting day that was set lies outside the site's window, whose edge is %(day)s."),
        False,
    ),
    **{f"share-{source}": (text, False) for source, text in _SHARES.items()},
    "populations-missed": (
        lazy("The mix holds %(number)s of the %(asked)s populations that the site's strategy asks for."),
        False,
    ),
    "population-cap": (
        lazy("One population gives %(found)s of the plants; the site's strategy allows %(limit)s."),
        False,
    ),
    "family-cap": (
        lazy("One mother's family is %(found)s of the plants; the site's strategy allows %(limit)s."),
        False,
    ),
    "mothers-missed": (
        lazy("The mix is worth %(number)s effective mothers; the site's strategy asks for %(asked)s."),
        False,
    ),
    "grown-late": (
        lazy("The plants in the nursery will be ready on %(day)s, when the planting window has closed."),
        False,
    ),
    "no-container": (lazy("No container type is recorded, so trays cannot be counted."), False),
    "small-cells": (lazy("The cells are smaller than the %(number)s cm³ advised for this protocol."), False),
}


def sentence(problem: dict[str, Any], entry: SpeciesEntry | None = None) -> str:
    """One finding in words; ``entry`` gives the protocol's name."""
    code = "collect-cuttings" if problem["text"] == "cuttings" else problem["code"]
    text, _way_out = _SENTENCES[code]
    day, number = problem["day"], problem["number"]
    return str(text) % {
        "day": format_date(dt.date.fromisoformat(day)) if day else _("an unknown day"),
        "number": format_number(number),
        "season": season_name(int(number)) if number else "",
        "text": protocol_name(problem["text"], entry),
        **_against_strategy(problem),
    }


def _against_strategy(problem: dict[str, Any]) -> dict[str, str]:
    """What was found and asked of a mix, as shares and as counts."""
    try:
        asked = float(problem["text"])
    except ValueError:
        return {}
    return {
        "found": format_percent(problem["number"]),
        "limit": format_percent(asked),
        "asked": format_number(asked, 1),
    }


def is_way_out(problem: dict[str, Any]) -> bool:
    """Whether the finding is something a person can do, rather than what is wrong."""
    return _SENTENCES[problem["code"]][1]


def protocol_name(key: str, entry: SpeciesEntry | None) -> str:
    """A protocol as people call it."""
    protocols = () if entry is None else entry.protocols
    # A kept plan may name a protocol that the catalogue has lost since.
    return next((protocol_label(protocol.name) for protocol in protocols if protocol.key == key), key)
