"""How plants, stages and acts of a batch are said."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.i18n import ngettext
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause, Stage

STAGE_LABELS = {
    Stage.SOWN: _l("Sown"),
    Stage.EMERGED: _l("Emerged"),
    Stage.GROWING: _l("Growing"),
    Stage.HARDENING: _l("Hardening"),
    Stage.READY: _l("Ready"),
}
CAUSE_LABELS = {
    Cause.UNKNOWN: _l("Not known"),
    Cause.NO_EMERGENCE: _l("Did not come up"),
    Cause.DAMPING_OFF: _l("Damping off"),
    Cause.DROUGHT: _l("Drought"),
    Cause.WATERLOGGING: _l("Waterlogging"),
    Cause.HEAT: _l("Heat"),
    Cause.FROST: _l("Frost"),
    Cause.PEST: _l("Pest"),
    Cause.DISEASE: _l("Disease"),
    Cause.ANIMALS: _l("Animals"),
    Cause.HANDLING: _l("Handling"),
    Cause.THINNED: _l("Thinned"),
    Cause.GRADED_OUT: _l("Graded out"),
    Cause.DESTROYED: _l("Destroyed on purpose"),
}
KIND_LABELS = {
    PlantMovementKind.COUNTED: _l("Counted"),
    PlantMovementKind.LOST: _l("Lost"),
    PlantMovementKind.DISPATCHED: _l("Dispatched"),
    PlantMovementKind.RETURNED: _l("Came back"),
    PlantMovementKind.SPLIT: _l("Split"),
    PlantMovementKind.MERGED: _l("Merged"),
    PlantMovementKind.REVERSAL: _l("Taken back"),
}


def plants_text(plants: int) -> str:
    """Plants as people say them."""
    return ngettext("%(num)s plant", "%(num)s plants", plants)


def seeds_text(seeds: int) -> str:
    """Seeds (or cuttings) as people say them."""
    return ngettext("%(num)s seed", "%(num)s seeds", seeds)


def trays_text(trays: int) -> str:
    """Trays as people say them."""
    return ngettext("%(num)s tray", "%(num)s trays", trays)
