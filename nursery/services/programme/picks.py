"""Which populations meet a need, how much each gives, and under which permit."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from nursery.i18n import format_date, ngettext
from nursery.models import Permit
from nursery.services.needs import Sheet
from nursery.services.stands import Stand


@dataclass(frozen=True, slots=True)
class Pick:
    """What one population gives to one need; amounts in kg of fruit, or in cuttings."""

    sheet: Sheet
    stand: Stand
    region_code: str
    basin: str
    amount: float
    mothers: int
    #: Days on which it can be collected: the need's season from today on, within the permit where one covers it.
    first_day: dt.date
    last_day: dt.date
    permit: Permit | None
    #: What the permit does not cover of the amount, and why.
    uncovered: float
    reason: str
    #: The day before which the permit's notice allows nothing; None where the season opens no earlier anyway.
    not_before: dt.date | None = None
    #: Whether the authority was told of it.
    is_told: bool = False

    @property
    def covered(self) -> float:
        """What the permit covers of the amount."""
        return self.amount - self.uncovered

    @property
    def notice(self) -> str:
        """From which day it is lawful, where a notice holds it up."""
        if self.permit is None or self.not_before is None:
            return ""
        days = self.permit.notice_days
        day = format_date(self.not_before)
        if self.is_told:
            return ngettext(
                "Notice of %(num)s day, given: not before %(day)s.",
                "Notice of %(num)s days, given: not before %(day)s.", days, day=day,
            )  # fmt: skip
        return ngettext(
            "Notice of %(num)s day: not before %(day)s, and only if the authority is told today.",
            "Notice of %(num)s days: not before %(day)s, and only if the authority is told today.", days, day=day,
        )  # fmt: skip

    @property
    def is_covered(self) -> bool:
        """Whether a permit covers all of it."""
        return self.permit is not None and self.uncovered <= 0


@dataclass(slots=True)
class NeedPlan:
    """One need with its populations."""

    sheet: Sheet
    picks: list[Pick] = field(default_factory=list)
    #: What the known populations cannot give; all of it where none is known.
    lacking: float = 0.0
    #: Populations to find beyond the known ones; at least one where the amount or the mothers lack.
    to_find: int = 0

    @property
    def populations(self) -> int:
        """Populations of the right origin that it takes."""
        return len({pick.stand.population_id for pick in self.picks}) + self.to_find

    @property
    def mothers(self) -> int:
        """Mother plants in the known populations."""
        return sum(pick.mothers for pick in self.picks)
