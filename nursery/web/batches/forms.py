"""The forms of batches."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from nursery.catalog.vocabulary import METHODS
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Lot
from nursery.models.dispatches import ReturnDecision
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import limits
from nursery.services.batches.moving import MOST
from nursery.services.batches.words import CAUSE_LABELS, STAGE_LABELS
from nursery.services.dispatches.words import DECISION_LABELS
from nursery.services.interface.asking import COUNT, LOSS, PLANTS, TRAYS, bounds_of, by_name, longest_of
from nursery.services.limits import Bounds
from nursery.web.batches.fields import (
    BenchSelect,
    ContainerSelect,
    LeftBenchSelect,
    SampleField,
    SiteSelect,
    TargetSelect,
)
from nursery.web.choices import OptionalChoiceField
from nursery.web.fields import ChoiceField, DayField, NumberField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordField
from nursery.web.session import today
from nursery.web.targets.fields import ProtocolField

_COUNT, _LOSS = by_name(COUNT), by_name(LOSS)
METHOD_LABELS = {Method(key): label for key, label in METHODS.items()}


_COLUMNS = {
    "alive": _l("Plants alive"),
    "plants": _l("Plants"),
    "trays": _l("Trays"),
    "seeds": _l("Seeds sown"),
    "seeds_per_cell": _l("Seeds in each cell"),
    "cells_per_tray": _l("Cells per tray"),
    "container_id": _l("Container"),
    "nursery_id": _l("Nursery"),
    "stage": _l("Stage"),
    "stage_on": _l("At this stage since"),
    "bench": _l("Bench"),
    "reason": _l("Reason"),
}


class BatchForm(RecordForm):
    """What may be changed of a batch beside its ledger."""

    target_id = TargetSelect(_l("Grown for"))
    ready_on = DayField(_l("Due"))
    protocol = ProtocolField(_l("Protocol"))

    groups = (Group(_l("The batch"), (("target_id",), ("ready_on", "protocol"), ("notes",))),)

    def __init__(self, *arguments: Any, obj: Any = None, **options: Any) -> None:
        super().__init__(*arguments, obj=obj, **options)
        if isinstance(obj, Batch):
            self.target_id.offer(obj.species_id)
            self.protocol.offer(obj.species_id)

    def labels(self) -> dict[str, str]:
        """With those of the columns that only acts change, for the history."""
        return super().labels() | {name: str(label) for name, label in _COLUMNS.items()}

    def show(self, column: str, value: Any) -> str:
        """Stages and days in words too."""
        if column == "stage" and value:
            return str(STAGE_LABELS[Stage(value)])
        if column == "stage_on" and value:
            return format_date(dt.date.fromisoformat(str(value)))
        return super().show(column, value)


class SowForm(RecordForm):
    """Everything a sowing asks; from a plan line it comes filled in."""

    lot_id = RecordField(_l("Lot"), model=Lot, needed=True, description=_l("Code on the bag."))
    seeds = WholeNumberField(_l("Seeds or cuttings"), bounds=limits.PLANTS, needed=True)
    grams = NumberField(
        _l("Weighed out"), bounds=Bounds(0, 1_000_000, above=True), unit="g",
        description=_l("Left empty, it is reckoned from the seeds."),
    )  # fmt: skip
    method = ChoiceField(_l("How"), kind=Method, labels=METHOD_LABELS, default=Method.DIRECT)
    protocol = ProtocolField(_l("Protocol"))
    container_id = ContainerSelect(_l("Container"), description=_l("Leave it open for flats and beds."))
    trays = WholeNumberField(_l("Trays or flats"), bounds=TRAYS, needed=True)
    seeds_per_cell = WholeNumberField(_l("Seeds in each cell"), bounds=limits.SEEDS_PER_CELL)
    bench_id = BenchSelect(_l("Put on bench"))
    target_id = TargetSelect(_l("Grown for"))
    sown_on = DayField(_l("Sown on"), needed=True)
    ready_on = DayField(_l("Due"))
    code = TextField(_l("Code of the batch"), most=24, description=_l("Left empty, the next code is given."))

    groups = (
        Group(_l("What is sown"), (("lot_id",), ("seeds", "grams"), ("method", "protocol"))),
        Group(_l("In what, and where"), (("container_id",), ("trays", "seeds_per_cell"), ("bench_id",))),
        Group(_l("For whom, and when"), (("target_id",), ("sown_on", "ready_on"), ("code",), ("notes",))),
    )

    def __init__(self, *arguments: Any, lot: Lot | None = None, **options: Any) -> None:
        super().__init__(*arguments, **options)
        if lot is not None:
            self.target_id.offer(lot.species_id)
            self.protocol.offer(lot.species_id)


class CountForm(RecordForm):
    """A count: of the whole batch, or of some trays."""

    stage = ChoiceField(_COUNT["stage"].label, kind=Stage, labels=STAGE_LABELS)
    plants = WholeNumberField(
        _COUNT["plants"].label, bounds=bounds_of(_COUNT["plants"]), description=_COUNT["plants"].help
    )
    sample = SampleField(_COUNT["sample"].label, description=_COUNT["sample"].help)
    trays = WholeNumberField(_COUNT["trays"].label, bounds=TRAYS)
    counted_on = DayField(_COUNT["counted_on"].label, needed=True)
    cause = ChoiceField(_COUNT["cause"].label, kind=Cause, labels=CAUSE_LABELS)
    grades = TextField(
        _COUNT["grades"].label, most=200, description=_l("Name and number, such as: small 40, large 210.")
    )
    notes = TextField(_COUNT["notes"].label, most=longest_of(_COUNT["notes"]))

    def __init__(self, *arguments: Any, batch: Batch, stage: Stage, **options: Any) -> None:
        filled = {"stage": stage, "trays": batch.trays or None, "counted_on": today(), "cause": Cause.UNKNOWN}
        super().__init__(*arguments, data={**filled, **options.pop("data", {})}, **options)
        del self["version"]

    def graded(self) -> dict[str, int]:
        """The sizes typed; raises ``ValueError`` for what is none."""
        found: dict[str, int] = {}
        for part in (self.grades.data or "").replace(";", ",").split(","):
            if not part.strip():
                continue
            name, _blank, number = part.strip().rpartition(" ")
            if not name or not number.isdigit():
                raise ValueError(
                    _("“%(part)s” is no size with its number. Write for example: small 40, large 210.", part=part)
                )
            size = name.strip()[:40]
            if size.casefold() in {known.casefold() for known in found}:
                raise ValueError(_("“%(size)s” stands twice. Add its plants up, and write it once.", size=size))
            found[size] = int(number)
        return found

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """Sizes must be readable too; exactly one kind of count is the service's to say."""
        sound = bool(super().validate(*arguments, **options))
        try:
            self.graded()
        except ValueError as refused:
            self.grades.errors = [str(refused)]
            return False
        return sound


class ActForm(RecordForm):
    """Everything an act on plants may ask; each form keeps the fields that its act needs."""

    plants = WholeNumberField(_LOSS["plants"].label, bounds=PLANTS, needed=True)
    left = WholeNumberField(_l("Plants left after thinning"), bounds=PLANTS, needed=True)
    pricked = WholeNumberField(_l("Seedlings pricked out"), bounds=PLANTS, needed=True)
    surplus = WholeNumberField(
        _l("Seedlings thrown away"), bounds=Bounds(0, MOST), description=_l("Left empty, it is all the rest.")
    )
    cause = ChoiceField(_LOSS["cause"].label, kind=Cause, labels=CAUSE_LABELS)
    stage = ChoiceField(_l("Stage"), kind=Stage, labels=STAGE_LABELS)
    site_id = SiteSelect(_l("Planting site"), needed=True)
    condition = TextField(_l("How they look"), most=400, description=_l("Such as: roots dry, leaves wilted."))
    decision = OptionalChoiceField(
        _l("What becomes of them"), kind=ReturnDecision, labels=DECISION_LABELS, nothing=_l("to be decided"),
        description=_l("A decision needs its reason."),
    )  # fmt: skip
    target_id = TargetSelect(_l("Grown for"))
    container_id = ContainerSelect(_l("Into container"), needed=True)
    from_bench_id = LeftBenchSelect(_l("From bench"), needed=True)
    bench_id = BenchSelect(_l("Bench"), needed=True)
    onto_bench_id = BenchSelect(_l("Put on bench"))
    trays = WholeNumberField(_l("Trays"), bounds=TRAYS)
    trays_left = WholeNumberField(
        _LOSS["trays_left"].label, bounds=bounds_of(_LOSS["trays_left"]),
        description=_l("Left empty, it is in proportion to the plants."),
    )  # fmt: skip
    code = TextField(_l("Code of the new batch"), most=24, description=_l("Left empty, the next code is given."))
    happened_on = DayField(_LOSS["happened_on"].label, needed=True)
    reason = TextField(_LOSS["reason"].label, most=longest_of(_LOSS["reason"]))

    def __init__(
        self, *arguments: Any, batch: Batch, names: Sequence[str], remark: bool = True, **options: Any
    ) -> None:
        filled = {"happened_on": today(), "cause": Cause.UNKNOWN, "stage": batch.stage}
        super().__init__(*arguments, data={**filled, **options.pop("data", {})}, **options)
        if "target_id" in names:
            self.target_id.offer(batch.species_id)
        self.order = [*names, "happened_on", *(["reason"] if remark else [])]
        for name in [name for name in self._fields if name not in self.order]:
            del self[name]

    def asked(self) -> list[Any]:
        """The fields in the order of the act, for the page."""
        return [self._fields[name] for name in self.order]

    @property
    def circumstances(self) -> dict[str, Any]:
        """Why and when, as every act takes them."""
        reason = self._fields.get("reason")
        return {
            "reason": (reason.data or "") if reason else "",
            "happened_on": self.happened_on.data,
            "today": today(),
        }
