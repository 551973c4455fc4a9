"""What a person says of a task."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from typing import Any

from wtforms import Form

from nursery.i18n import lazy as _l
from nursery.models import Person
from nursery.services.interface.asking import AMOUNT, DONE, by_name
from nursery.web.fields import DayField, NumberField, TextField
from nursery.web.record_fields import RecordSelect

_DONE = by_name(DONE)


class _Said(Form):
    """Fields by name, for the service."""

    def values(self) -> dict[str, Any]:
        """What was said."""
        return {name: field.data for name, field in self._fields.items()}


class DoneForm(_Said):
    """When it was done."""

    done_on = DayField(_DONE["done_on"].label, needed=True)


class PartForm(_Said):
    """How much of it is done."""

    amount = NumberField(_DONE["amount"].label, bounds=AMOUNT, digits=1, needed=True)
    done_on = DayField(_l("By"), needed=True)


class SkipForm(_Said):
    """Why it is not going to be done."""

    reason = TextField(_l("Why is it skipped?"), most=300, needed=True)


class MoveForm(_Said):
    """To which day it is put off."""

    due_on = DayField(_l("Do it on"), needed=True)


class PersonForm(_Said):
    """Who does it."""

    person_id = RecordSelect(_l("Who does it"), model=Person)
