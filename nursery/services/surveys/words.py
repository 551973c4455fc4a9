"""What causes of death and years are called."""

from __future__ import annotations

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.i18n import ngettext
from nursery.planning.field.words import Cause, Goal

CAUSE_LABELS = {
    Cause.DROUGHT: _l("Drought"),
    Cause.HEAT: _l("Heat"),
    Cause.FROST: _l("Frost"),
    Cause.FLOOD: _l("Flood, washed out"),
    Cause.WATERLOGGING: _l("Waterlogging"),
    Cause.BROWSING: _l("Browsed or trampled"),
    Cause.ROOTS_EATEN: _l("Roots eaten"),
    Cause.INSECTS: _l("Insects"),
    Cause.DISEASE: _l("Disease"),
    Cause.WEEDS: _l("Overgrown by weeds"),
    Cause.MOWN: _l("Mown or run over"),
    Cause.FIRE: _l("Fire"),
    Cause.PLANTED_BADLY: _l("Planted badly"),
    Cause.MISSING: _l("Gone, nothing found"),
}
GOAL_LABELS = {
    Goal.EXPECTED: _l("What was planned to survive"),
    Goal.TARGET: _l("What the target asked for"),
}


def year_name(year: int) -> str:
    """After how many growing seasons."""
    return ngettext("Year %(num)s", "Year %(num)s", year)


def cause_name(cause: str) -> str:
    """A cause as it is stored, in words; plants whose cause nobody saw have the empty one."""
    if not cause:
        return _("Not seen")
    return str(CAUSE_LABELS[Cause(cause)]) if cause in list(Cause) else cause
