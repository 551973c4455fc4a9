"""Whether a permit covers a collection: species, date, place and amount, each answered in words.

The amount is judged in the order of collecting: a lot counts with those collected before it, so that what is taken
later never makes a lawful lot unlawful. Lots up to the cap are covered, and what goes beyond it is not.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Permit, PermitLine
from nursery.models.permits import AreaKind
from nursery.planning.areas import covers
from nursery.services.permits.accounts import Account, opened, same_measure
from nursery.services.permits.takings import Taking
from nursery.services.permits.words import number_key, place_names, quantity

#: Where two lines of one species fit, the narrower one counts.
_NARROW = {AreaKind.POLYGON: 0, AreaKind.PLACES: 1, AreaKind.ANYWHERE: 2}


class Check(StrEnum):
    """What is asked of a permit."""

    PERMIT = "permit"
    SPECIES = "species"
    DATE = "date"
    PLACE = "place"
    AMOUNT = "amount"


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one check."""

    check: Check
    holds: bool
    text: str


@dataclass(frozen=True, slots=True)
class Coverage:
    """What a permit, or the want of one, says to a collection."""

    permit: Permit | None
    line: PermitLine | None
    answers: tuple[Answer, ...]

    @property
    def is_covered(self) -> bool:
        """Whether every check holds."""
        return self.permit is not None and all(answer.holds for answer in self.answers)

    @property
    def missing(self) -> list[Answer]:
        """Checks that do not hold."""
        return [answer for answer in self.answers if not answer.holds]

    @property
    def sentence(self) -> str:
        """The outcome, and each reason why not."""
        if self.permit is not None and self.is_covered:
            amount = next(answer.text for answer in self.answers if answer.check is Check.AMOUNT)
            return _("Covered by permit %(number)s.", number=self.permit.number) + " " + amount
        reasons = " ".join(answer.text for answer in self.missing)
        if self.permit is None:
            return _("No permit covers this lot.") + " " + reasons
        return _("Permit %(number)s does not cover this lot.", number=self.permit.number) + " " + reasons


@dataclass
class Book:
    """Permits in force and all that was taken under them."""

    permits: Sequence[Permit]
    #: Lots by permit and by id.
    takings: dict[int, dict[int, Taking]] = field(default_factory=lambda: defaultdict(dict))
    _accounts: dict[int, dict[int, Account]] = field(default_factory=dict)

    def note(self, taking: Taking) -> None:
        """Enter a lot under the permit that it names now, and nowhere else."""
        for permit in self.permits:
            if before := self.takings[permit.id].pop(taking.lot_id, None):
                line = line_of(permit.lines, before)
                if line is not None and permit.id in self._accounts:
                    self._accounts[permit.id][line.id].remove(line, before)
            if permit.id == taking.permit_id:
                self.takings[permit.id][taking.lot_id] = taking
                line = line_of(permit.lines, taking)
                if line is not None and permit.id in self._accounts:
                    self._accounts[permit.id][line.id].add(line, taking)

    def find(self, taking: Taking) -> Coverage:
        """The coverage by the permit whose number the lot bears; without a number, by the best permit."""
        key = number_key(taking.permit_number)
        if not key:
            return self.best(taking)
        named = [permit for permit in self.permits if number_key(permit.number) == key]
        if named:
            return self.best(taking, named)
        text = _("No permit with the number “%(number)s” is written down.", number=taking.permit_number)
        other = self.best(taking)
        if other.permit is not None and other.is_covered:
            text += " " + _("Permit %(number)s would cover it: give its number.", number=other.permit.number)
        return Coverage(None, None, (Answer(Check.PERMIT, holds=False, text=text),))

    def best(self, taking: Taking, permits: Sequence[Permit] | None = None) -> Coverage:
        """The coverage by the permit that answers most of the checks; the longest valid one of equals."""
        asked = self.permits if permits is None else permits
        found = [self.coverage(taking, permit) for permit in asked]
        if permits is None:
            found = [coverage for coverage in found if coverage.line is not None]
        if not found:
            text = _("No permit on record names %(species)s.", species=taking.species_name)
            return Coverage(None, None, (Answer(Check.SPECIES, holds=False, text=text),))
        return max(found, key=lambda coverage: _goodness(coverage, taking))

    def coverage(self, taking: Taking, permit: Permit) -> Coverage:
        """What one permit says, whichever the lot names."""
        line = line_of(permit.lines, taking)
        date = _date_answer(permit, taking.collected_on)
        if line is None:
            text = _("%(species)s is not in the permit.", species=taking.species_name)
            return Coverage(permit, None, (Answer(Check.SPECIES, holds=False, text=text), date))
        text = _("%(species)s is in the permit.", species=taking.species_name)
        answers = (
            Answer(Check.SPECIES, holds=True, text=text), date, _place_answer(line, taking),
            self._amount_answer(line, taking),
        )  # fmt: skip
        return Coverage(permit, line, answers)

    def accounts(self, permit: Permit) -> dict[int, Account]:
        """What was taken under each line by its id; the order in which lots were noted does not matter."""
        if permit.id not in self._accounts:
            taken: dict[int, list[Taking]] = defaultdict(list)
            for line, taking in self.under(permit):
                if line is not None:
                    taken[line.id].append(taking)
            self._accounts[permit.id] = {line.id: opened(line, taken[line.id]) for line in permit.lines}
        return self._accounts[permit.id]

    def under(self, permit: Permit) -> list[tuple[PermitLine | None, Taking]]:
        """Lots under a permit, each with its line; None where the permit does not name the species."""
        taken = list(self.takings[permit.id].values())
        return list(zip(lines_of(permit.lines, taken), taken, strict=True))

    def _amount_answer(self, line: PermitLine, taking: Taking) -> Answer:
        if line.cap_mg is None and line.cap_pieces is None:
            return Answer(Check.AMOUNT, holds=True, text=_("The permit sets no cap."))
        if not same_measure(line, taking):
            text = (
                _("The permit counts pieces, but the lot is weighed: whether it is within cannot be told.")
                if taking.by_weight
                else _("The permit caps a weight, but the lot is counted: whether it is within cannot be told.")
            )
            return Answer(Check.AMOUNT, holds=False, text=text)
        cap = (line.cap_mg if taking.by_weight else line.cap_pieces) or 0
        account = self.accounts(line.permit)[line.id]
        later = account.after(taking)
        if taking.is_planned:  # what is still to come follows all that was collected
            taken, later = taking.amount + account.total(by_weight=taking.by_weight), 0
        else:
            taken = taking.amount + account.before(taking)
        words = {
            name: quantity(value, by_weight=taking.by_weight)
            for name, value in (
                ("taken", taken), ("cap", cap), ("left", cap - taken), ("over", taken - cap), ("later", later),
            )
        }  # fmt: skip
        if taken > cap:
            text = _(
                "With this lot %(taken)s are collected of the %(cap)s allowed, %(over)s too much.",
                taken=words["taken"], cap=words["cap"], over=words["over"],
            )  # fmt: skip
            return Answer(Check.AMOUNT, holds=False, text=text)
        if taken + later > cap:
            text = _(
                "With this lot %(taken)s were collected of the %(cap)s allowed; later lots took %(later)s,"
                " %(over)s too much.",
                taken=words["taken"], cap=words["cap"], later=words["later"],
                over=quantity(taken + later - cap, by_weight=taking.by_weight),
            )  # fmt: skip
            return Answer(Check.AMOUNT, holds=True, text=text)
        if later:
            text = _(
                "With this lot %(taken)s were collected of the %(cap)s allowed; later lots took %(later)s.",
                taken=words["taken"], cap=words["cap"], later=words["later"],
            )  # fmt: skip
            return Answer(Check.AMOUNT, holds=True, text=text)
        text = _(
            "With this lot %(taken)s are collected of the %(cap)s allowed; %(left)s are left.",
            taken=words["taken"], cap=words["cap"], left=words["left"],
        )  # fmt: skip
        return Answer(Check.AMOUNT, holds=True, text=text)


def line_of(lines: Iterable[PermitLine], taking: Taking) -> PermitLine | None:
    """The one line of a permit under which a lot counts."""
    return lines_of(lines, [taking])[0]


def lines_of(lines: Iterable[PermitLine], takings: Sequence[Taking]) -> list[PermitLine | None]:
    """The line of each lot, of its species: the narrowest of those whose area and measure fit.

    It follows from the lot and the lines alone, so the order of lots changes no sum.
    """
    by_species: Mapping[int, list[PermitLine]] = defaultdict(list)
    for line in lines:
        by_species[line.species_id].append(line)
    inside = {line.id: is_inside(line, takings) for own in by_species.values() for line in own}
    found: list[PermitLine | None] = []
    for at, taking in enumerate(takings):
        own = by_species.get(taking.species_id, [])
        found.append(min(own, key=lambda line: _rank(line, taking, bool(inside[line.id][at])), default=None))
    return found


def is_inside(line: PermitLine, takings: Sequence[Taking]) -> np.ndarray:
    """Whether each lot comes from the area of a line."""
    if line.area_kind is AreaKind.ANYWHERE:
        return np.ones(len(takings), np.bool_)
    if line.area_kind is AreaKind.PLACES:
        return np.array([is_named(line, t.population_code, t.region_code, t.basin) for t in takings], np.bool_)
    return covers(line.polygon or {}, [t.longitude for t in takings], [t.latitude for t in takings])


def is_named(line: PermitLine, *places: str) -> bool:
    """Whether one of the places is among those that a line names."""
    named = {name.casefold() for name in place_names(line.places)}
    return any(place.casefold() in named for place in places if place)


def _rank(line: PermitLine, taking: Taking, fits: bool) -> tuple[bool, bool, int, int]:
    return not fits, not same_measure(line, taking), _NARROW[line.area_kind], line.id


def _goodness(coverage: Coverage, taking: Taking) -> tuple[bool, int, bool, dt.date, int]:
    permit = coverage.permit
    if permit is None:  # pragma: no cover -- a coverage by a permit has one
        raise ValueError(coverage)
    held = sum(answer.holds for answer in coverage.answers)
    # Of two permits that are spent, the one that speaks of pieces is the one for cuttings.
    alike = coverage.line is not None and same_measure(coverage.line, taking)
    return coverage.is_covered, held, alike, permit.valid_to, -permit.id


def _date_answer(permit: Permit, day: dt.date) -> Answer:
    words = {
        "day": format_date(day),
        "from": format_date(permit.valid_from),
        "until": format_date(permit.valid_to),
    }
    if day < permit.valid_from:
        text = _("Collected on %(day)s, before the permit begins on %(from)s.", **words)
    elif day > permit.valid_to:
        text = _("Collected on %(day)s, after the permit ended on %(until)s.", **words)
    else:
        text = _("Collected on %(day)s, within %(from)s to %(until)s.", **words)
        return Answer(Check.DATE, holds=True, text=text)
    return Answer(Check.DATE, holds=False, text=text)


def _place_answer(line: PermitLine, taking: Taking) -> Answer:
    holds = bool(is_inside(line, [taking])[0])
    words = {"population": taking.population_code, "places": "; ".join(place_names(line.places))}
    if line.area_kind is AreaKind.ANYWHERE:
        text = _("The permit holds everywhere.")
    elif line.area_kind is AreaKind.PLACES and holds:
        text = _("Population %(population)s is in a named place (%(places)s).", **words)
    elif line.area_kind is AreaKind.PLACES:
        text = _("Population %(population)s is in none of the named places (%(places)s).", **words)
    elif holds:
        text = _("Population %(population)s lies in the area of the permit.", **words)
    else:
        text = _("Population %(population)s lies outside the area of the permit.", **words)
    return Answer(Check.PLACE, holds=holds, text=text)
