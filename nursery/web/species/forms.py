"""The small form that replaces one figure: its control follows what the figure is."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import RadioField, SelectChoice, SelectMultipleField
from wtforms.validators import StopValidation
from wtforms.widgets import CheckboxInput, ListWidget

from nursery.catalog import FigureValue
from nursery.catalog.vocabulary import STORAGE_LABELS
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.i18n import month_name
from nursery.services.species import FigureView
from nursery.services.species.labels import is_fraction, unit_text
from nursery.web.fields import FractionField, Needed, NotesField, NumberField, WholeNumberField
from nursery.web.forms import RefusableForm


class MonthsField(SelectMultipleField):
    """Months as boxes to tick; ``data`` is their numbers."""

    widget = ListWidget(prefix_label=False)
    option_widget = CheckboxInput()

    def __init__(self, label: Any = None, **options: Any) -> None:
        months = [SelectChoice(month, month_name(month, "wide")) for month in range(1, 13)]
        super().__init__(label, coerce=int, choices=months, **options)
        self.type = "SelectMultipleField"  # drawn as one

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The ticked months."""
        known = {str(month): month for month in range(1, 13)}
        self.data = sorted({known[text] for text in valuelist if text in known})

    def pre_validate(self, form: Any) -> None:
        """At least one month."""
        del form
        if not self.data:
            raise StopValidation(_("Tick at least one month."))


class FigureForm(RefusableForm):
    """A figure's own value and the reason for it; see ``figure_form``."""


def figure_form(view: FigureView, typed: Any = None) -> FigureForm:
    """The form for a figure: filled with the value in force, or with what was typed."""

    class ThisFigure(FigureForm):
        value = _field(view)
        reason = _reason()

    now = view.figure.value
    return ThisFigure(typed, data={"value": _as_data(view, now), "reason": view.reason})


def _as_data(view: FigureView, value: FigureValue) -> Any:
    if view.rule.kind == "yes-no":
        return "yes" if value else "no"
    return list(value) if isinstance(value, tuple) else value


def _field(view: FigureView) -> Any:
    kind, label = view.rule.kind, view.label
    if kind == "months":
        return MonthsField(label)
    if kind == "yes-no":
        return RadioField(label, choices=[SelectChoice("yes", _("yes")), SelectChoice("no", _("no"))])
    if kind == "choice":
        return RadioField(
            label, choices=[SelectChoice(key, str(STORAGE_LABELS[key])) for key in view.rule.choices]
        )
    if is_fraction(view.path):
        return FractionField(label, needed=True, description=_("85 %, 85 and 0.85 mean the same."))
    if kind == "whole":
        return WholeNumberField(label, needed=True)
    return NumberField(label, needed=True, unit=unit_text(view.rule.unit))


def _reason() -> NotesField:
    return NotesField(
        _l("Reason"),
        [Needed()],
        description=_l(
            "What the figure rests on: a count, a test, a season’s records. It stands beside the figure."
        ),
        render_kw={"rows": 3, "maxlength": 500},
    )


def typed_value(view: FigureView, form: FigureForm) -> Any:
    """The form's value as the catalogue writes it."""
    data = form._fields["value"].data
    return data == "yes" if view.rule.kind == "yes-no" else data
