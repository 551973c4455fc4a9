"""Words of work, hours and money in the reader's language."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.planning.work.words import Job, Unit

JOB_LABELS = {
    Job.NOTICE: _l("Notice to the authority"),
    Job.COLLECT: _l("Collecting"),
    Job.RETEST: _l("Retest"),
    Job.WITHDRAW: _l("Withdrawing seed"),
    Job.SOAK: _l("Soaking"),
    Job.SCARIFY: _l("Scarifying"),
    Job.STRATIFY: _l("Stratifying"),
    Job.CHECK: _l("Looking at seed"),
    Job.SOW: _l("Sowing"),
    Job.PRICK_OUT: _l("Pricking out"),
    Job.THIN: _l("Thinning"),
    Job.MOVE: _l("Moving trays"),
    Job.FEED: _l("Feeding"),
    Job.WATER: _l("Watering"),
    Job.WEED: _l("Weeding"),
    Job.COUNT: _l("Counting"),
    Job.HARDEN: _l("Hardening off"),
    Job.GRADE: _l("Grading"),
    Job.DISPATCH: _l("Dispatch"),
    Job.SURVEY: _l("Survival survey"),
}
UNIT_LABELS = {
    Unit.GRAMS: _l("grams"),
    Unit.SEEDS: _l("seeds"),
    Unit.CELLS: _l("cells"),
    Unit.TRAYS: _l("trays"),
    Unit.PLANTS: _l("plants"),
    Unit.LOTS: _l("lots"),
}
