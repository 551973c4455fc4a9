"""How a new lot came: collected now, in store before its records began, or received from somebody else."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from enum import StrEnum
from typing import Any

from wtforms import RadioField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import ValidationError

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l


class Coming(StrEnum):
    """The first entry of a lot's ledger depends on it, and whether a permit is asked for it."""

    COLLECTED = "collected"
    IN_STORE = "in-store"
    RECEIVED = "received"


COMING_LABELS = {
    Coming.COLLECTED: _l("Collected by us: the amount is what came home"),
    Coming.IN_STORE: _l("Collected by us and already in store: the amount is what there is today"),
    Coming.RECEIVED: _l("Received from somebody else: no collecting permit is asked for it"),
}


class ComingField(RadioField):
    """One of three ways; the first where nothing was chosen."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        choices = [SelectChoice(value=way.value, label=text) for way, text in COMING_LABELS.items()]
        super().__init__(label, choices=choices, default=Coming.COLLECTED.value, **options)
        self.type = "RadioField"  # by which the pages know how to draw it

    def pre_validate(self, form: Any) -> None:  # noqa: ARG002 -- the field's signature
        """Refuse what is no way in words."""
        if self.data not in set(Coming):
            words = ", ".join(str(text) for text in COMING_LABELS.values())
            raise ValidationError(_("Choose one of: %(words)s.", words=words))
