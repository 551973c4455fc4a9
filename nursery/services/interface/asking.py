"""What a count, a loss, a germination test and a task done ask: one home for names, labels and bounds."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.planning.growing.words import Cause, Stage
from nursery.services.batches.moving import MOST
from nursery.services.batches.words import CAUSE_LABELS, STAGE_LABELS
from nursery.services.calculators.composite import Items, Record
from nursery.services.calculators.fields import Choice, Date, Field, Number, Text, Whole
from nursery.services.limits import Bounds
from nursery.services.seed_tests.recording import DAYS

PLANTS = Bounds(1, MOST)
TRAYS = Bounds(1, 100_000)
SEEDS = Bounds(1, 10_000)
#: No job has more of anything.
AMOUNT = Bounds(0, 1_000_000_000)
#: Replicates of one test, trays of one sample, sizes of one grading.
REPLICATES, SAMPLE, SIZES = 64, 5000, 20

COUNT: tuple[Field, ...] = (
    Choice("stage", _l("Stage"), choices=Stage, labels=STAGE_LABELS),
    Whole(
        "plants", _l("Plants in the whole batch"), bounds=Bounds(0, MOST), default=None,
        help=_l("If you counted every tray."),
    ),
    Items(
        "sample", _l("Or plants in each tray you looked at"), most=SAMPLE, default=None,
        help=_l("One after another, such as 38 35 40."),
        item=Whole("tray", _l("Plants in one tray"), bounds=Bounds(0, MOST)),
    ),
    Whole("trays", _l("Trays it stands in"), bounds=TRAYS, default=None),
    Date("counted_on", _l("Counted on"), default=None),
    Choice(
        "cause", _l("If some are missing, because of"), choices=Cause, labels=CAUSE_LABELS, default=Cause.UNKNOWN
    ),
    Items(
        "grades", _l("Sizes, if graded"), most=SIZES, default=None,
        item=Record(
            "grade", _l("Size"),
            fields=(
                Text("name", _l("Name"), longest=40),
                Whole("plants", _l("Plants"), bounds=Bounds(0, MOST)),
            ),
        ),
    ),
    Text("notes", _l("Remark"), longest=400, default=""),
)  # fmt: skip

LOSS: tuple[Field, ...] = (
    Whole("plants", _l("Plants"), bounds=PLANTS),
    Choice("cause", _l("Cause"), choices=Cause, labels=CAUSE_LABELS, default=Cause.UNKNOWN),
    Date("happened_on", _l("Day"), default=None),
    Whole(
        "trays_left", _l("Trays left"), bounds=Bounds(0, 100_000), default=None,
        help=_l("Left empty, they stay as they are."),
    ),
    Text("reason", _l("Remark"), longest=400, default=""),
)  # fmt: skip

GERMINATION: tuple[Field, ...] = (
    Items(
        "counts", _l("Seeds germinated in each replicate"), most=REPLICATES,
        help=_l("One whole count a replicate, parted by blanks or semicolons: 91 95 88 90."),
        item=Whole("count", _l("Seeds germinated"), bounds=Bounds(0, SEEDS.high)),
    ),
    Whole("seeds", _l("Seeds in each replicate"), bounds=SEEDS),
    Date("tested_on", _l("Day of the result"), default=None),
    Whole("days", _l("Days counted"), bounds=DAYS, default=None),
    Text("regime", _l("Temperature and light"), longest=80, default="", help=_l("Such as 20/10 °C, 12 h light.")),
    Text(
        "pretreatment", _l("Pretreatment"), longest=120, default="",
        help=_l("What was done to the seed before: soaking, chilling."),
    ),
    Number(
        "taken", _l("Seed used up by the test"), unit="g", bounds=Bounds(0, 1_000_000), default=0.0,
        help=_l("In grams; of a counted lot in whole pieces. It leaves the lot through the ledger."),
    ),
    Text("notes", _l("Notes"), longest=4000, default=""),
)  # fmt: skip

DONE: tuple[Field, ...] = (
    Date("done_on", _l("Done on"), default=None),
    Number(
        "amount", _l("Done so far, in all"), bounds=AMOUNT, default=None,
        help=_l("In the task’s unit; left out, all of it is done."),
    ),
)  # fmt: skip


def by_name(fields: tuple[Field, ...]) -> dict[str, Field]:
    """The fields of an act, for its form."""
    return {field.name: field for field in fields}


def bounds_of(field: Field) -> Bounds:
    """Between what a number must lie."""
    if not isinstance(field, Number):
        raise TypeError(field.name)
    return field.bounds


def longest_of(field: Field) -> int:
    """How many characters a text may have."""
    if not isinstance(field, Text):
        raise TypeError(field.name)
    return field.longest
