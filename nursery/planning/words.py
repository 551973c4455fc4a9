"""Words that every layer shares."""

from __future__ import annotations

from enum import StrEnum


class Method(StrEnum):
    """How a species is propagated."""

    DIRECT = "direct"
    PRESPROUTED = "presprouted"
    PRICKED_OUT = "pricked-out"
    CUTTINGS = "cuttings"
    BAREROOT = "bareroot"


class StorageClass(StrEnum):
    """How seed takes drying and cold."""

    ORTHODOX = "orthodox"
    INTERMEDIATE = "intermediate"
    RECALCITRANT = "recalcitrant"
