"""Which populations meet a need, how much each gives, and under which permit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from nursery.i18n import gettext as _
from nursery.models import Permit, Population
from nursery.models.places import IndigenousStatus
from nursery.planning.rounding import whole
from nursery.services.needs import Sheet
from nursery.services.permits.accounts import same_measure
from nursery.services.permits.covering import Book, Check, Coverage
from nursery.services.permits.takings import Taking
from nursery.services.stands import Stand

_AT_HOME = (IndigenousStatus.AUTOCHTHONOUS, IndigenousStatus.INDIGENOUS)


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

    @property
    def is_covered(self) -> bool:
        """Whether a permit covers all of it."""
        return self.uncovered <= 0


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
        return len(self.picks) + self.to_find

    @property
    def mothers(self) -> int:
        """Mother plants in the known populations."""
        return sum(pick.mothers for pick in self.picks)


class Allotting:
    """Allots needs one after another, so that none takes what an earlier one has of a permit's allowance."""

    def __init__(self, book: Book, places: Mapping[int, Population], today: dt.date) -> None:
        self.book, self.places, self.today = book, places, today
        self.made = 0
        #: What stands were asked to give so far.
        self.picks: list[Pick] = []

    def need(self, sheet: Sheet) -> NeedPlan:
        """The fewest populations that give the amount and the mothers.

        Those under a permit come first, then those that were counted, those at home where they grow, the nearest.
        The amount is shared by their fruiting plants, so that all plants give alike.
        """
        able = [self._still(sheet, stand) for stand in sheet.stands.here]
        judged = [(stand, self._judge(sheet, stand, 1e-6)) for stand in able if stand.most != 0]
        judged.sort(key=lambda one: _rank(one[0], one[1][0]))
        chosen = _fewest([stand for stand, _judged in judged], sheet.wanted, sheet.need.mothers)
        plan = NeedPlan(sheet)
        for stand, amount, mothers in _shares(chosen, sheet):
            plan.picks.append(self._pick(sheet, stand, amount, mothers))
        self.picks += plan.picks
        given = sum(pick.amount for pick in plan.picks)
        plan.lacking = max(0.0, sheet.wanted - given) if sheet.wanted - given > 1e-9 * sheet.wanted else 0.0
        plan.to_find = _to_find(plan, chosen)
        return plan

    def _still(self, sheet: Sheet, stand: Stand) -> Stand:
        """The stand with what other needs of the same season leave of its fifth."""
        if stand.most is None:
            return stand
        given = sum(
            pick.amount
            for pick in self.picks
            if pick.stand.population_id == stand.population_id
            and pick.sheet.is_cuttings == sheet.is_cuttings
            and pick.sheet.need.opens_on <= sheet.need.closes_on
            and sheet.need.opens_on <= pick.sheet.need.closes_on
        )
        left = stand.most - given
        return replace(stand, most=left if left > 1e-9 * stand.most else 0)

    def _pick(self, sheet: Sheet, stand: Stand, amount: float, mothers: int) -> Pick:
        coverage, taking = self._judge(sheet, stand, amount)
        uncovered, permit = amount, None
        if coverage.is_covered:
            uncovered, permit = 0.0, coverage.permit
        elif [answer.check for answer in coverage.missing] == [Check.AMOUNT] and coverage.permit is not None:
            uncovered, permit = amount - self._left(coverage, sheet), coverage.permit
            uncovered = min(amount, max(0.0, uncovered))
        if permit is not None and uncovered < amount:
            self._note(taking, permit, sheet, amount - uncovered)
        else:
            permit = None
        first, last = self._days(sheet)
        if permit is not None:
            first, last = max(first, permit.valid_from), min(last, permit.valid_to)
        place = self.places[stand.population_id]
        return Pick(
            sheet, stand, place.region_code, place.basin, amount, mothers, first, last, permit, uncovered,
            "" if uncovered <= 0 else _reason(coverage, taking),
        )  # fmt: skip

    def _days(self, sheet: Sheet) -> tuple[dt.date, dt.date]:
        return max(sheet.need.opens_on, self.today), sheet.need.closes_on

    def _judge(self, sheet: Sheet, stand: Stand, amount: float) -> tuple[Coverage, Taking]:
        """The best permit on the last day of the season, or on its first where only that is covered."""
        found = []
        for day in reversed(self._days(sheet)):
            taking = self._taking(sheet, stand, amount, day)
            found.append((self.book.best(taking), taking))
        return max(found, key=lambda one: (one[0].is_covered, -len(one[0].missing)))

    def _taking(self, sheet: Sheet, stand: Stand, amount: float, day: dt.date) -> Taking:
        place, need = self.places[stand.population_id], sheet.need
        weighed = 0 if sheet.is_cuttings else max(1, round(amount * 1e6))
        self.made += 1
        return Taking(
            -self.made, "", None, "", need.species_id, need.species_name, day, None, weighed,
            max(1, round(amount)) if sheet.is_cuttings else 0, place.code, place.region_code, place.basin,
            place.latitude, place.longitude, False, None, "", "", None,
        )  # fmt: skip

    def _left(self, coverage: Coverage, sheet: Sheet) -> float:
        """What is left under the line of a coverage, in the unit of the need."""
        line, permit = coverage.line, coverage.permit
        if line is None or permit is None:
            return 0.0
        total = self.book.accounts(permit)[line.id]
        if sheet.is_cuttings:
            return float(max(0, (line.cap_pieces or 0) - total.pieces))
        return max(0, (line.cap_mg or 0) - total.milligrams) / 1e6

    def _note(self, taking: Taking, permit: Permit, sheet: Sheet, amount: float) -> None:
        self.book.note(self._noted(taking, sheet, amount).under(permit.id))

    @staticmethod
    def _noted(taking: Taking, sheet: Sheet, amount: float) -> Taking:
        if sheet.is_cuttings:
            return replace(taking, pieces=int(amount))
        return replace(taking, milligrams=int(amount * 1e6))


def _rank(stand: Stand, coverage: Coverage) -> tuple[bool, bool, bool, float, str]:
    uncounted = stand.most is None
    return not coverage.is_covered, uncounted, stand.status not in _AT_HOME, stand.distance_m, stand.code


def _fewest(stands: Sequence[Stand], wanted: float, mothers: int) -> list[Stand]:
    chosen: list[Stand] = []
    amount, plants = 0.0, 0
    for stand in stands:
        if amount >= wanted and plants >= mothers:
            break
        chosen.append(stand)
        amount += stand.most or 0.0
        plants += stand.fruiting_plants or 0
    return chosen


def _shares(chosen: Sequence[Stand], sheet: Sheet) -> list[tuple[Stand, float, int]]:
    """Amount and mothers of each; a stand nobody has counted takes what the others cannot give."""
    counted = [stand for stand in chosen if stand.most]
    capacity = sum(stand.most or 0.0 for stand in counted)
    plants = sum(stand.fruiting_plants or 0 for stand in counted)
    wanted, asked = sheet.wanted, min(sheet.need.mothers, plants)
    found = []
    for stand in counted:
        part = (stand.most or 0.0) / capacity
        amount = min(stand.most or 0.0, wanted * part)
        if sheet.is_cuttings:
            amount = float(whole(amount))
        share = (stand.fruiting_plants or 0) / plants
        found.append((stand, amount, min(stand.fruiting_plants or 0, int(whole(asked * share)))))
    uncounted = [stand for stand in chosen if stand.most is None]
    rest = max(0.0, wanted - capacity)
    if uncounted:
        each = rest / len(uncounted)
        each = float(whole(each)) if sheet.is_cuttings else each
        left = max(0, sheet.need.mothers - plants)
        found += [(stand, each, int(whole(left / len(uncounted)))) for stand in uncounted if each > 0 or left > 0]
    return found


def _to_find(plan: NeedPlan, chosen: Sequence[Stand]) -> int:
    """How many more populations like the known ones the amount and the mothers ask for."""
    if any(stand.most is None for stand in chosen):
        return 0
    if not plan.picks:
        return 1
    need = plan.sheet.need
    by_amount = plan.lacking / (sum(pick.stand.most or 0.0 for pick in plan.picks) / len(plan.picks))
    short = max(0, need.mothers - sum(pick.stand.fruiting_plants or 0 for pick in plan.picks))
    fruiting = sum(pick.stand.fruiting_plants or 0 for pick in plan.picks) / len(plan.picks)
    return int(whole(max(by_amount, short / fruiting if fruiting else 0.0)))


def _reason(coverage: Coverage, taking: Taking) -> str:
    """Why no permit covers it, for a collection that is still to come."""
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
