"""The small form that writes one batch down."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import Field

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.services.evidence import KINDS, MOST_SOURCE, kind_label
from nursery.services.learned.reading import LearnedView, rates_to_see
from nursery.web.fields import DayField, ListInput, NumberField, TextField
from nursery.web.forms import RefusableForm
from nursery.web.record_fields import RecordField


class KindField(Field):
    """Which rate was seen; ``data`` is part and rate, joined by a point."""

    widget = ListInput()
    understood = ""

    def __init__(self, label: Any = None, **options: Any) -> None:
        self.data: str | None = None
        self.offered: Sequence[tuple[str, str]] = ()
        super().__init__(label, **options)

    def options(self) -> Sequence[tuple[str, str]]:
        """What can be chosen."""
        return self.offered

    def chosen(self) -> str:
        """The rate now chosen."""
        return str(self.data or "")

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The chosen rate; one that is not offered is refused by the service."""
        self.data = valuelist[0] if valuelist else ""


class EvidenceForm(RefusableForm):
    """Successes among trials, the day, where it was counted, and the lot."""

    kind = KindField(_l("Rate"))
    successes = NumberField(
        _l("How many succeeded"),
        needed=True,
        description=_l("Germinated, came up, alive; of a cull or a loss, those lost. Yields in grams."),
    )
    trials = NumberField(_l("Of how many"), needed=True, description=_l("All that were counted, failures too."))
    happened_on = DayField(_l("Counted on"), needed=True)
    source = TextField(
        _l("What it was"), most=MOST_SOURCE, needed=True, description=_l("Such as “tray count, bench 4”.")
    )
    lot_id = RecordField(_l("Lot"), model=Lot, described=Lot.ripening_year, description=_l("Where it is known."))

    def values(self) -> dict[str, Any]:
        """What the service takes."""
        part, _point, rate = str(self.kind.data or "").partition(".")
        names = ("successes", "trials", "happened_on", "source", "lot_id")
        return {"part": part, "rate": rate, **{name: self._fields[name].data for name in names}}

    def field_of(self, column: str) -> str:
        """The rate is chosen by its kind."""
        return "kind" if column == "rate" else column


def evidence_form(view: LearnedView, typed: Any = None, **data: Any) -> EvidenceForm:
    """The form with the rates that the species has."""
    form = EvidenceForm(typed, data=data)
    form.kind.offered = [
        (f"{part}.{rate}", _("%(rate)s: %(part)s of %(whole)s", rate=kind_label(part, rate), part=words[1],
                             whole=words[2]))
        for part, rate in rates_to_see(view.species.catalogue)
        for words in [KINDS[part, rate]]
    ]  # fmt: skip
    return form
