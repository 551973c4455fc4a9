"""Names of the stages, in the reader's language."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.planning.growing.words import Stage

STAGE_LABELS = {
    Stage.SOWN: _l("Sown"),
    Stage.EMERGED: _l("Emerged"),
    Stage.GROWING: _l("Growing"),
    Stage.HARDENING: _l("Hardening"),
    Stage.READY: _l("Ready"),
}
