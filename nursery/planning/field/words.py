"""Words of the planted field that every layer shares."""

from __future__ import annotations

from enum import StrEnum

#: Growing seasons after which survival is usually counted.
YEARS = (1, 3, 5)
#: A plot may be looked at again up to this many years after planting.
LAST_YEAR = 20


class Cause(StrEnum):
    """What killed a planted plant, as far as a look at it tells."""

    DROUGHT = "drought"
    HEAT = "heat"
    FROST = "frost"
    FLOOD = "flood"
    WATERLOGGING = "waterlogging"
    BROWSING = "browsing"
    ROOTS_EATEN = "roots-eaten"
    INSECTS = "insects"
    DISEASE = "disease"
    WEEDS = "weeds"
    MOWN = "mown"
    FIRE = "fire"
    PLANTED_BADLY = "planted-badly"
    MISSING = "missing"


class Goal(StrEnum):
    """Up to what losses are made good."""

    #: What was planned to survive.
    EXPECTED = "expected"
    #: What the target asked for.
    TARGET = "target"
