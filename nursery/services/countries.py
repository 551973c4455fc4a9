"""Countries by their two letters."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import is_country


def country_refusal(code: str) -> str:
    """What is wrong with two letters; empty where nothing is, or nothing was written."""
    if not code or is_country(code):
        return ""
    return _("“%(code)s” is no country. Write its two letters, such as PT, ES or FR.", code=code)


def refuse_country(values: Mapping[str, Any], field: str = "country") -> dict[str, str]:
    """The refusal at its field."""
    told = country_refusal(values.get(field) or "")
    return {field: told} if told else {}
