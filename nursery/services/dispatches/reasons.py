"""Reasons are a sentence or two: without one, or with a whole letter, an act about a load is refused."""

from __future__ import annotations

from nursery.errors import Invalid
from nursery.i18n import gettext as _

#: Letters of a reason; more would fill ledgers and pages of loads.
MOST_REASON = 500


def long_reason(reason: str) -> str | None:
    """What is wrong with a reason that is too long, or None."""
    long = len(reason.strip())
    if long <= MOST_REASON:
        return None
    return _("The reason has %(long)s characters; at most %(most)s fit. Shorten it.", long=long, most=MOST_REASON)


def check_reason(reason: str, missing: str | None = None) -> None:
    """Refuse a reason that is too long and, where ``missing`` says what to write, one that is not there."""
    refused = missing if missing is not None and not reason.strip() else long_reason(reason)
    if refused is not None:
        raise Invalid({"reason": refused})
