"""Where a lot's place contradicts what its species needs, in words, each with where the rule comes from.

Recalcitrant seed dies when it freezes or dries; orthodox seed keeps dry and cold (storage classes of the
catalogue, each with its own source there).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.harm import FREEZING_C, Harm, dries, freezes

#: Air in which moist seed dries out in open containers, %; common practice, no source.
MOIST_AIR_PCT = 50.0
#: Orthodox seed is not kept warmer than this beyond a season, °C and days; common practice, no source.
COOL_C, LONG_DAYS = 10.0, 365
#: Air with which orthodox seed is in balance when it is dry enough, %: no more than 25, no less than 10: academy
#: of the Center for Plant Conservation.
DRY_AIR_PCT = (10.0, 25.0)
_PRACTICE = _l("Common practice, no source.")
_ACADEMY = _l("Center for Plant Conservation academy: dry to no more than 25 % and no less than 10 % humidity.")


@dataclass(frozen=True, slots=True)
class Misplaced:
    """One thing that is wrong with how a lot is kept; ``tone`` is that of a note."""

    tone: str
    title: str
    text: str
    source: str


#: Why a lot is left out of plans, by what killed it.
_LEFT_OUT = {
    Harm.FROZEN: _l(
        "Left out of plans because seed of this class dies when it freezes, and no test since it was put there"
        " shows that it lives. Test it to use it."
    ),
    Harm.DRIED: _l(
        "Left out of plans because seed of this class dies when it dries, and no test since its moisture was"
        " measured shows that it lives. Test it to use it."
    ),
    Harm.BEFORE: _l(
        "Left out of plans because until %(day)s it lay in a place that kills seed of this class, and no test"
        " since shows that it lives. Test it to use it."
    ),
}


def left_out(harm: str, harmed_on: dt.date | None = None) -> str:
    """Why no plan draws a lot, by the ``harm`` of `nursery.services.lot_figures`; empty where plans may."""
    if not harm:
        return ""
    return str(_LEFT_OUT[Harm(harm)]) % {"day": format_date(harmed_on) if harmed_on else ""}


def misplaced(
    behaviour: str,
    *,
    temperature_c: float | None,
    humidity_pct: float | None,
    moisture_pct: float | None,
    kept_days: int,
) -> list[Misplaced]:
    """What contradicts the storage class, the worst first; nothing is said of what is not recorded."""
    found: Iterator[Misplaced] = iter(())
    if behaviour == "recalcitrant":
        found = _recalcitrant(temperature_c, humidity_pct, moisture_pct)
    elif behaviour == "orthodox":
        found = _orthodox(temperature_c, humidity_pct, kept_days)
    elif temperature_c is not None and temperature_c < FREEZING_C:
        found = iter([_intermediate_frozen(temperature_c)])
    return list(found)


def _recalcitrant(
    temperature_c: float | None, humidity_pct: float | None, moisture_pct: float | None
) -> Iterator[Misplaced]:
    if temperature_c is not None and freezes(True, temperature_c):
        yield Misplaced(
            "stop",
            _("It freezes here"),
            _(
                "The place is at %(place)s °C, and this seed dies when it freezes. Move it to 0–4 °C at once,"
                " moist, and cut a sample open to see what still lives.",
                place=format_number(temperature_c, 1),
            ),
            _("Common practice; the catalogue keeps such seed unfrozen."),
        )
    if moisture_pct is not None and dries(True, moisture_pct):
        yield Misplaced(
            "stop",
            _("It is too dry"),
            _(
                "The lot has %(moisture)s moisture, and this seed dies when it dries. Sow it now, or put it up"
                " moist and test what still lives.",
                moisture=format_percent(moisture_pct / 100, 1),
            ),
            _(
                "Cork oak acorns germinate far worse below 30 % (Merouani and others 2001, abstract); laurel dies"
                " below 15 % (Konstantinidou and others 2008). Other species are not measured."
            ),
        )
    if humidity_pct is not None and humidity_pct < MOIST_AIR_PCT:
        yield Misplaced(
            "caution",
            _("The air is dry"),
            _(
                "The place has %(humidity)s humidity, in which this seed dries out. Keep it in thin polythene, or"
                " move it to moist air.",
                humidity=format_percent(humidity_pct / 100),
            ),
            str(_PRACTICE),
        )


def _orthodox(temperature_c: float | None, humidity_pct: float | None, kept_days: int) -> Iterator[Misplaced]:
    low, high = DRY_AIR_PCT
    if temperature_c is not None and temperature_c > COOL_C and kept_days > LONG_DAYS:
        yield Misplaced(
            "caution",
            _("It is too warm for years"),
            _(
                "The place is at %(place)s °C and the lot has been kept for more than a year. Move it to a"
                " fridge or a freezer, dry and airtight.",
                place=format_number(temperature_c, 1),
            ),
            str(_PRACTICE),
        )
    if humidity_pct is not None and not low <= humidity_pct <= high:
        too_moist = humidity_pct > high
        text = (
            _("The air has %(humidity)s humidity: seed in open bags takes up water. Keep it dry and airtight.")
            if too_moist
            else _("The air has %(humidity)s humidity: seed in open bags may dry too far.")
        )
        yield Misplaced(
            "caution",
            _("The air is moist") if too_moist else _("The air is very dry"),
            text % {"humidity": format_percent(humidity_pct / 100)},
            str(_ACADEMY),
        )


def _intermediate_frozen(temperature_c: float) -> Misplaced:
    return Misplaced(
        "caution",
        _("It freezes here"),
        _(
            "The place is at %(place)s °C; seed of this class is often harmed by frost. Keep it at 2–5 °C.",
            place=format_number(temperature_c, 1),
        ),
        str(_PRACTICE),
    )
