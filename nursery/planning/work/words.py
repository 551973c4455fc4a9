"""Words of work that every layer shares."""

from __future__ import annotations

from enum import StrEnum


class Job(StrEnum):
    """A kind of work in the order in which a plant's life asks for it."""

    NOTICE = "notice"
    COLLECT = "collect"
    RETEST = "retest"
    WITHDRAW = "withdraw"
    SOAK = "soak"
    SCARIFY = "scarify"
    STRATIFY = "stratify"
    CHECK = "check"
    SOW = "sow"
    PRICK_OUT = "prick-out"
    THIN = "thin"
    MOVE = "move"
    FEED = "feed"
    WATER = "water"
    WEED = "weed"
    COUNT = "count"
    HARDEN = "harden"
    GRADE = "grade"
    DISPATCH = "dispatch"
    SURVEY = "survey"


class Unit(StrEnum):
    """What a job's amount counts."""

    GRAMS = "grams"
    SEEDS = "seeds"
    CELLS = "cells"
    TRAYS = "trays"
    PLANTS = "plants"
    LOTS = "lots"


class TaskStatus(StrEnum):
    """How far a task has come; a task that the plan in force no longer asks for is dropped."""

    OPEN = "open"
    PARTLY = "partly"
    DONE = "done"
    SKIPPED = "skipped"
    DROPPED = "dropped"
