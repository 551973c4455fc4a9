"""Under which permits a stand can give to a need, from which day, and how much each still allows."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from nursery.i18n import format_date, ngettext
from nursery.i18n import gettext as _
from nursery.models import Permit, PermitLine, Population
from nursery.services.needs import Sheet
from nursery.services.permits.accounts import same_measure
from nursery.services.permits.covering import Book, Check, Coverage
from nursery.services.permits.notices import Told, lawful_from, season_mark
from nursery.services.permits.takings import Taking
from nursery.services.stands import Stand

#: Less than this, in kg of fruit, is nothing: 10 mg. Of cuttings it is one.
LEAST = 1e-5


@dataclass(frozen=True, slots=True)
class Option:
    """A permit that covers a stand, and the days on which it does."""

    permit: Permit
    line: PermitLine
    first_day: dt.date
    last_day: dt.date
    #: The day before which its notice allows nothing; None where the season opens no earlier anyway.
    not_before: dt.date | None
    #: Whether the authority was told of the season.
    is_told: bool


@dataclass(slots=True)
class Permission:
    """What the permits allow to needs, one after another: what one need is given, the next ones lack."""

    book: Book
    places: Mapping[int, Population]
    told: Told
    today: dt.date
    made: int = 0

    def season(self, sheet: Sheet) -> tuple[dt.date, dt.date]:
        """What is left of the season of a need."""
        return max(sheet.need.opens_on, self.today), sheet.need.closes_on

    def options(self, sheet: Sheet, stand: Stand) -> list[Option]:
        """Permits under which something may still be collected, the one that holds longest first."""
        found = []
        opens, closes = self.season(sheet)
        for permit in self._naming(sheet):
            first, last = max(opens, permit.valid_from), min(closes, permit.valid_to)
            lawful = lawful_from(permit, sheet.need, self.told, self.today)
            not_before = lawful if lawful is not None and lawful > first else None
            first = not_before or first
            if first > last:
                continue
            coverage = self.book.coverage(self._taking(sheet, stand, LEAST, first), permit)
            if coverage.is_covered and coverage.line is not None:
                is_told = (permit.id, season_mark(permit, sheet.need)[0]) in self.told
                found.append(Option(permit, coverage.line, first, last, not_before, is_told))
        return sorted(found, key=lambda option: (-option.permit.valid_to.toordinal(), option.permit.id))

    def give(self, sheet: Sheet, stand: Stand, option: Option, amount: float) -> float:
        """Enter what a permit allows of an amount; how much that is, in the unit of the need."""
        account = self.book.accounts(option.permit)[option.line.id]
        scale = 1 if sheet.is_cuttings else 1_000_000
        cap = option.line.cap_pieces if sheet.is_cuttings else option.line.cap_mg
        left = math.inf if cap is None else max(0, cap - account.total(by_weight=not sheet.is_cuttings))
        given = min(round(amount * scale), left)
        if given <= 0:
            return 0.0
        taking = self._taking(sheet, stand, amount, option.first_day).under(option.permit.id)
        by_piece = sheet.is_cuttings
        noted = replace(taking, pieces=int(given)) if by_piece else replace(taking, milligrams=int(given))
        self.book.note(noted)
        return amount if given < left else min(amount, given / scale)

    def reason(self, sheet: Sheet, stand: Stand, amount: float, *, is_part: bool) -> str:
        """Why no permit covers an amount still to be collected, or a part of it where one covers the rest."""
        if not is_part and (permit := self._held_up(sheet, stand)) is not None:
            return self._too_late(sheet, permit)
        found = []
        for day in reversed(self.season(sheet)):
            taking = self._taking(sheet, stand, amount, day)
            found.append((self.book.best(taking, self._naming(sheet) or None), taking))
        coverage, taking = max(found, key=lambda one: (one[0].is_covered, -len(one[0].missing)))
        if coverage.permit is not None and coverage.is_covered:
            return self._too_late(sheet, coverage.permit)
        return _reason(coverage, taking)

    def _naming(self, sheet: Sheet) -> list[Permit]:
        species_id = sheet.need.species_id
        return [
            permit for permit in self.book.permits if any(line.species_id == species_id for line in permit.lines)
        ]

    def _held_up(self, sheet: Sheet, stand: Stand) -> Permit | None:
        """A permit that would cover something, did its notice not outlast the season."""
        opens, closes = self.season(sheet)
        for permit in self._naming(sheet):
            first, last = max(opens, permit.valid_from), min(closes, permit.valid_to)
            lawful = lawful_from(permit, sheet.need, self.told, self.today)
            if first > last or lawful is None or lawful <= last:
                continue
            if self.book.coverage(self._taking(sheet, stand, LEAST, first), permit).is_covered:
                return permit
        return None

    def _too_late(self, sheet: Sheet, permit: Permit) -> str:
        lawful = lawful_from(permit, sheet.need, self.told, self.today) or self.today
        return ngettext(
            "Permit %(number)s asks for a notice of %(num)s day: not before %(day)s, when its season is over.",
            "Permit %(number)s asks for a notice of %(num)s days: not before %(day)s, when its season is over.",
            permit.notice_days, number=permit.number, day=format_date(lawful),
        )  # fmt: skip

    def _taking(self, sheet: Sheet, stand: Stand, amount: float, day: dt.date) -> Taking:
        place, need = self.places[stand.population_id], sheet.need
        self.made += 1
        return Taking(
            -self.made, "", None, "", need.species_id, need.species_name, day, None,
            0 if sheet.is_cuttings else max(1, round(amount * 1e6)),
            max(1, round(amount)) if sheet.is_cuttings else 0, place.code, place.region_code, place.basin,
            place.latitude, place.longitude, False, None, "", "", None, is_planned=True,
        )  # fmt: skip


def _reason(coverage: Coverage, taking: Taking) -> str:
    if coverage.permit is None:
        return _("No permit names the species.")
    number = coverage.permit.number
    words = {
        Check.SPECIES: _("Permit %(number)s does not name the species.", number=number),
        Check.DATE: _("The season lies outside the days of permit %(number)s.", number=number),
        Check.PLACE: _("The population lies outside the area of permit %(number)s.", number=number),
        Check.AMOUNT: _("It is more than permit %(number)s still allows.", number=number),
        Check.PERMIT: _("No permit is written down."),
    }
    if coverage.line is not None and not same_measure(coverage.line, taking):
        words |= {answer.check: answer.text for answer in coverage.missing if answer.check is Check.AMOUNT}
    return " ".join(words[answer.check] for answer in coverage.missing)
