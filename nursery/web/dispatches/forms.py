"""The forms of loads: one of the load, and one for each thing that happens to it."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Self

from sqlalchemy import select

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Dispatch, DispatchLine, Recipient, Species
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.services.batches.moving import MOST
from nursery.services.batches.words import trays_text
from nursery.services.dispatches.expecting import Expected
from nursery.services.dispatches.reading import Row
from nursery.services.dispatches.sending import Rest
from nursery.services.dispatches.words import DECISION_LABELS, STATUS_LABELS
from nursery.services.limits import Bounds
from nursery.web.batches.fields import SiteSelect, TargetSelect
from nursery.web.choices import YesNoField
from nursery.web.fields import ChoiceField, DayField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordField, RecordSelect

PLANTS = Bounds(1, MOST)
SOME = Bounds(0, MOST)
TRAYS = Bounds(0, 100_000)
REST_LABELS = {
    Rest.LATER: _l("Plan another load of them"),
    Rest.DROP: _l("Drop them: they are free again"),
}
_COLUMNS = {
    "status": _l("State"), "sent_on": _l("Sent on"), "received_on": _l("Taken over on"),
    "received_by": _l("Taken over by"), "received_time": _l("At"), "plants": _l("Plants"), "batch": _l("Batch"),
    "trays": _l("Trays"), "decision": _l("Decision"), "why": _l("Reason"), "reason": _l("Reason"),
}  # fmt: skip


class LoadForm(RecordForm):
    """Where a load goes, when, and with whom."""

    site_id = SiteSelect(_l("Planting site"), needed=True)
    planned_on = DayField(_l("Planned for"), needed=True)
    fill = YesNoField(
        _l("Fill it with what is ready for the site’s open targets"),
        description=_l("Batches grown for them first, then free ones that the rules of origin let in."),
    )
    recipient_id = RecordSelect(
        _l("Taken over by"), model=Recipient, description=_l("Left open, it is who takes plants over at the site.")
    )
    vehicle = TextField(_l("Vehicle"), most=80)
    driver = TextField(_l("Driver"), most=80)

    groups = (
        Group(_l("Where and when"), (("site_id",), ("planned_on",), ("fill",))),
        Group(_l("Who"), (("recipient_id",), ("vehicle", "driver"), ("notes",))),
    )

    def __init__(self, *arguments: Any, obj: Any = None, **options: Any) -> None:
        super().__init__(*arguments, obj=obj, **options)
        if isinstance(obj, Dispatch):  # a load keeps its site
            for name in ("site_id", "fill", *(["planned_on"] if obj.status is not DispatchStatus.PLANNED else [])):
                del self[name]

    def grouped(self) -> Iterator[tuple[Group, list[list[Any]]]]:
        """Groups with the fields that are left."""
        for group in self.groups:
            rows = [[self._fields[name] for name in row if name in self._fields] for row in group.rows]
            if any(rows):
                yield group, [row for row in rows if row]

    def labels(self) -> dict[str, str]:
        """With those of what only acts change, for the history."""
        return super().labels() | {name: str(label) for name, label in _COLUMNS.items()}

    def show(self, column: str, value: Any) -> str:
        """States and decisions in words."""
        if column == "status" and value:
            return str(STATUS_LABELS[DispatchStatus(value)])
        if column == "decision" and value:
            return str(DECISION_LABELS[ReturnDecision(value)])
        return super().show(column, value)


class AskForm(RecordForm):
    """A form of one act: its fields stand in the order in which they are declared."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    def asked(self) -> Sequence[Any]:
        """The fields, for the page."""
        return [field for field in self._fields.values() if field.name != "version"]


class LineForm(AskForm):
    """A batch and its plants."""

    batch_id = RecordField(
        _l("Batch"), model=Batch, needed=True, description=_l("Code on the tray."),
        described=select(Species.scientific_name).where(Species.id == Batch.species_id).scalar_subquery(),
    )  # fmt: skip
    plants = WholeNumberField(_l("Plants"), bounds=PLANTS, needed=True)
    grade = TextField(_l("Size asked for"), most=20, description=_l("Left empty, any size will do."))
    target_id = TargetSelect(_l("For the target"))

    @classmethod
    def for_load(cls, load: Dispatch, *arguments: Any, **options: Any) -> Self:
        """Without the target: it follows from the batch and the site."""
        form = cls(*arguments, **options)
        del form["target_id"]
        del load
        return form


class ChangeLineForm(AskForm):
    """How many plants of a batch, in how many trays, and of which size."""

    plants = WholeNumberField(_l("Plants"), bounds=PLANTS, needed=True)
    trays = WholeNumberField(_l("Trays"), bounds=TRAYS)
    grade = TextField(_l("Size asked for"), most=20, description=_l("Left empty, any size will do."))

    @classmethod
    def for_row(cls, row: Row, *arguments: Any) -> Self:
        """With the trays only where it stands in any."""
        form = cls(*arguments, data={"plants": row.line.plants, "grade": row.line.grade})
        if row.trays is None:
            del form["trays"]
        else:
            told = _("%(trays)s now. Left empty, they stay, or follow when you change the plants.",
                     trays=trays_text(row.trays))  # fmt: skip
            form["trays"].description = told
        return form


class TraysForm(AskForm):
    """In how many trays plants left, where nobody wrote that down."""

    trays = WholeNumberField(_l("Trays"), bounds=TRAYS, needed=True)


class ReasonForm(AskForm):
    """Why."""

    reason = TextField(_l("Reason"), most=400, needed=True)


class SubstituteForm(AskForm):
    """Which batch stands in, and why."""

    batch_id = RecordField(_l("Batch that stands in"), model=Batch, needed=True)
    reason = TextField(_l("Reason"), most=400, needed=True, description=_l("It is shown wherever the load is."))


class ReturnForm(AskForm):
    """Plants that came back."""

    plants = WholeNumberField(_l("Plants that came back"), bounds=PLANTS, needed=True)
    trays = WholeNumberField(_l("In trays"), bounds=TRAYS)
    returned_on = DayField(_l("Came back on"), needed=True)
    condition = TextField(_l("How they look"), most=400, description=_l("Such as: roots dry, leaves wilted."))

    @classmethod
    def for_line(cls, line: DispatchLine, *arguments: Any, **options: Any) -> Self:
        """With the trays only where it is known in how many they left."""
        form = cls(*arguments, **options)
        if line.trays is None:
            del form["trays"]
        else:
            told = _("%(trays)s left. Left empty, a share of them.", trays=trays_text(line.trays))
            form["trays"].description = told
        return form


class DecideForm(AskForm):
    """What becomes of plants that came back."""

    decision = ChoiceField(_l("Decision"), kind=ReturnDecision, labels=DECISION_LABELS)
    decided_on = DayField(_l("Decided on"), needed=True)
    reason = TextField(
        _l("Reason"), most=400, needed=True, description=_l("Who looked at them, and what was found.")
    )


def send_form(rows: Sequence[Row], *arguments: Any, may_lack_papers: bool, **options: Any) -> Any:
    """The form of sending: a field for each line, filled with what is asked."""
    fields: dict[str, Any] = {}
    for row in rows:
        code = row.line.batch.code
        fields[f"sent-{row.line.id}"] = WholeNumberField(
            _("%(batch)s: plants sent", batch=code), bounds=SOME, needed=True
        )
        if row.trays is not None:
            fields[f"trays-{row.line.id}"] = WholeNumberField(
                _("%(batch)s: trays loaded", batch=code), bounds=TRAYS,
                description=_("%(trays)s on the pick list", trays=trays_text(row.trays)),
            )  # fmt: skip
    fields["sent_on"] = DayField(_l("Sent on"), needed=True)
    fields["rest"] = ChoiceField(_l("What was asked for and does not go"), kind=Rest, labels=REST_LABELS)
    if may_lack_papers:
        fields["reason"] = TextField(
            _l("Why it goes without its papers"),
            most=400,
            description=_l("Only where papers that apply are not there, or speak of more than goes."),
        )
    return _made("SendForm", fields)(
        *arguments, data={f"sent-{row.line.id}": row.sums.plants for row in rows} | options.pop("data"), **options
    )


def receive_form(rows: Sequence[Row], awaited: Mapping[int, Expected], *arguments: Any, **options: Any) -> Any:
    """The form of taking over: who, when, and a field for each line, filled with what was on the way."""
    fields: dict[str, Any] = {
        "received_by": TextField(_l("Name of who takes it over"), most=80, needed=True),
        "received_on": DayField(_l("Taken over on"), needed=True),
        "received_time": TextField(_l("At"), most=5, description=_l("Such as 14:30.")),
    }
    fields |= {
        f"received-{row.line.id}": WholeNumberField(
            _("%(batch)s: plants that came", batch=row.line.batch.code), bounds=SOME, needed=True
        )
        for row in rows
        if awaited[row.line.id].most
    }
    return _made("ReceiveForm", fields)(
        *arguments,
        data={f"received-{key}": one.most for key, one in awaited.items()} | options.pop("data"),
        **options,
    )


def by_line(form: Any, prefix: str) -> Mapping[int, int]:
    """What was typed for each line."""
    return {
        int(name.removeprefix(f"{prefix}-")): field.data
        for name, field in form._fields.items()
        if name.startswith(f"{prefix}-") and field.data is not None
    }


def _made(name: str, fields: Mapping[str, Any]) -> Any:
    return type(name, (AskForm,), dict(fields))
