"""A country by its two letters."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from typing import Any

from nursery.i18n import country_name
from nursery.services.countries import country_refusal
from nursery.web.fields import TypedField


class CountryField(TypedField):
    """Two letters of ISO 3166-1, in capitals or not; empty stays empty."""

    def process_formdata(self, valuelist: Any) -> None:
        """Keep an empty text, since the column holds no nothing."""
        super().process_formdata(valuelist)
        if self.data is None and not self.errors:
            self.data = ""

    def parse(self, text: str) -> Any:
        """The letters in capitals."""
        code = text.upper()
        if told := country_refusal(code):
            raise ValueError(told)
        return code

    def show(self, value: Any) -> str:
        """Letters and name."""
        return f"{value}, {country_name(value)}" if value else ""
