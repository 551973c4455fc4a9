"""Defects that keep a plant from being fair and marketable.

After Directive 1999/105/EC, Annex VII part D, as the reference of standards tells it (section 1.8): wounds other
than by pruning or lifting, no buds able to make a leader, multiple stems, a deformed root system, signs of drying,
heating, mould, rot or pests, and a shoot out of balance with its roots.
"""

from __future__ import annotations

from enum import StrEnum

from nursery.i18n import lazy as _l


class Defect(StrEnum):
    """What was seen on a plant."""

    WOUNDS = "wounds"
    NO_LEADER = "no-leader"
    MANY_STEMS = "many-stems"
    ROOTS = "roots"
    DRY = "dry"
    ROT = "rot"
    PESTS = "pests"
    BALANCE = "balance"


DEFECT_LABELS = {
    Defect.WOUNDS: _l("Wounds, other than of pruning or lifting"),
    Defect.NO_LEADER: _l("No bud that can make a leader"),
    Defect.MANY_STEMS: _l("Several stems"),
    Defect.ROOTS: _l("Deformed roots"),
    Defect.DRY: _l("Dried out or heated"),
    Defect.ROT: _l("Mould or rot"),
    Defect.PESTS: _l("Harmed by pests"),
    Defect.BALANCE: _l("Shoot and roots out of balance"),
}
