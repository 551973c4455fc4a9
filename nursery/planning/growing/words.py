"""Words of the growing floor that every layer shares."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """How far a batch has come; a count is taken at one of them."""

    SOWN = "sown"
    EMERGED = "emerged"
    GROWING = "growing"
    HARDENING = "hardening"
    READY = "ready"


#: In order of growth.
STAGES = tuple(Stage)

#: The rates that lie between a stage and the one before it.
RATES_TO: dict[Stage, tuple[str, ...]] = {
    Stage.SOWN: (),
    Stage.EMERGED: ("germination", "emergence"),
    Stage.GROWING: ("establishment",),
    Stage.HARDENING: ("hardening",),
    Stage.READY: ("cull",),
}


class Cause(StrEnum):
    """Why plants were lost."""

    UNKNOWN = "unknown"
    NO_EMERGENCE = "no-emergence"
    DAMPING_OFF = "damping-off"
    DROUGHT = "drought"
    WATERLOGGING = "waterlogging"
    HEAT = "heat"
    FROST = "frost"
    PEST = "pest"
    DISEASE = "disease"
    ANIMALS = "animals"
    HANDLING = "handling"
    THINNED = "thinned"
    GRADED_OUT = "graded-out"
    DESTROYED = "destroyed"
