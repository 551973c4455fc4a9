"""Why a lot is on the seed watch, in words."""

from __future__ import annotations

from enum import StrEnum

from nursery.i18n import lazy as _l


class Reason(StrEnum):
    """Why a lot is on the list."""

    MISPLACED = "misplaced"
    REPEAT = "repeat"
    PAST = "past"
    SOW = "sow"
    RETEST = "retest"


REASON_LABELS = {
    Reason.MISPLACED: _l("In the wrong place"),
    Reason.REPEAT: _l("Test to repeat"),
    Reason.PAST: _l("Past its best"),
    Reason.SOW: _l("To sow in time"),
    Reason.RETEST: _l("To test"),
}
