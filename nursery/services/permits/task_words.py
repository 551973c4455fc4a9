"""The sentences of what permits ask for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from nursery.i18n import format_date, ngettext
from nursery.i18n import gettext as _
from nursery.services.permits.takings import Taking


def notice(authority: str, species: Sequence[tuple[str, dt.date]]) -> str:
    """Of species that may be collected from some day on, the first one on top."""
    name, first = species[0]
    if len(species) == 1:
        return _(
            "Tell %(authority)s before collecting %(species)s, which may begin on %(day)s.",
            authority=authority, species=name, day=format_date(first),
        )  # fmt: skip
    return ngettext(
        "Tell %(authority)s before collecting: %(num)s species, the first from %(day)s.",
        "Tell %(authority)s before collecting: %(num)s species, the first from %(day)s.",
        len(species), authority=authority, day=format_date(first),
    )  # fmt: skip


def trip_notice(authority: str, code: str, day: dt.date, permits: int) -> str:
    """Of a trip to come, which may collect under one of several permits."""
    words = {"authority": authority, "code": code, "day": format_date(day)}
    if permits == 1:
        return _("Tell %(authority)s of trip %(code)s on %(day)s, if it collects under this permit.", **words)
    return _("Tell %(authority)s of trip %(code)s on %(day)s, if it collects under one of these permits.", **words)


def report(authority: str, takings: Sequence[Taking]) -> str:
    """Of lots whose quantity the authority does not know yet."""
    first = takings[0]
    if len(takings) == 1:
        return _(
            "Report the quantity of %(code)s (%(species)s, collected on %(day)s) to %(authority)s.",
            code=first.lot_code, species=first.species_name, day=format_date(first.collected_on),
            authority=authority,
        )  # fmt: skip
    return ngettext(
        "Report the quantity of %(num)s lot to %(authority)s.",
        "Report the quantities of %(num)s lots to %(authority)s.",
        len(takings), authority=authority,
    )  # fmt: skip


def renewal(authority: str, numbers: Sequence[str], day: dt.date) -> str:
    """Of permits that end on one day."""
    if len(numbers) == 1:
        return _(
            "Ask %(authority)s for a new permit: %(number)s ends on %(day)s.",
            authority=authority, number=numbers[0], day=format_date(day),
        )  # fmt: skip
    return _(
        "Ask %(authority)s for new permits: %(numbers)s end on %(day)s.",
        authority=authority, numbers=", ".join(numbers), day=format_date(day),
    )  # fmt: skip
