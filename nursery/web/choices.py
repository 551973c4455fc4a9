"""Choices that may be left open, and yes or no."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import BooleanField

from nursery.i18n import gettext as _
from nursery.web.fields import ChoiceField


class OptionalChoiceField(ChoiceField):
    """One word of a list, or none, which ``nothing`` names."""

    def __init__(self, label: Any = None, *, nothing: Any = "–", **options: Any) -> None:
        super().__init__(label, **options)
        self.nothing = nothing

    def options(self) -> Sequence[tuple[str, str]]:
        """With nothing on top."""
        return [("", str(self.nothing)), *super().options()]

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The word, or None."""
        if valuelist and not valuelist[0]:
            self.data = None
            return
        super().process_formdata(valuelist)


class YesNoField(BooleanField):
    """A box to tick, told as yes or no."""

    def show(self, value: Any) -> str:
        """The answer in a word."""
        return _("yes") if value else _("no")
