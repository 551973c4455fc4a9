"""What was taken under one line of a permit, in the order of collecting."""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field

from nursery.models import PermitLine
from nursery.services.permits.takings import Taking

#: A lot's place in the order: the day of collecting, then the order in which lots were written down.
Place = tuple[dt.date, int]


@dataclass
class Account:
    """Sums of a line: of all its lots, and up to each one of them."""

    lots: int = 0
    #: Lots that are weighed where the cap counts, or counted where it weighs: they are in no sum.
    otherwise: int = 0
    _places: list[Place] = field(default_factory=list)
    #: Milligrams and pieces of all lots up to and with the one at the same place.
    _sums: tuple[list[int], list[int]] = field(default_factory=lambda: ([], []))

    @property
    def milligrams(self) -> int:
        """Weight of all lots."""
        return self._sums[0][-1] if self.lots else 0

    @property
    def pieces(self) -> int:
        """Pieces of all lots."""
        return self._sums[1][-1] if self.lots else 0

    def total(self, *, by_weight: bool) -> int:
        """Milligrams or pieces of all lots."""
        return self.milligrams if by_weight else self.pieces

    def before(self, taking: Taking) -> int:
        """What was taken before a lot, in its measure; the lot itself, if it is in, counts for nothing."""
        at = bisect_left(self._places, place_of(taking))
        return self._sums[not taking.by_weight][at - 1] if at else 0

    def after(self, taking: Taking) -> int:
        """What was taken after a lot, in its measure."""
        at = bisect_right(self._places, place_of(taking))
        sums = self._sums[not taking.by_weight]
        return self.total(by_weight=taking.by_weight) - (sums[at - 1] if at else 0)

    def copy(self) -> Account:
        """The account as it stands now."""
        return Account(self.lots, self.otherwise, [*self._places], ([*self._sums[0]], [*self._sums[1]]))

    def add(self, line: PermitLine, taking: Taking) -> None:
        """Count a lot that is not in yet; quick for one that was collected last."""
        place = place_of(taking)
        at = bisect_left(self._places, place)
        self._places.insert(at, place)
        for sums, amount in zip(self._sums, (taking.milligrams, taking.pieces), strict=True):
            sums.insert(at, sums[at - 1] if at else 0)
            _raise(sums, at, amount)
        self.lots += 1
        self.otherwise += not same_measure(line, taking)

    def remove(self, line: PermitLine, taking: Taking) -> None:
        """Take a lot out again that was added just so."""
        at = bisect_left(self._places, place_of(taking))
        del self._places[at]
        for sums, amount in zip(self._sums, (taking.milligrams, taking.pieces), strict=True):
            del sums[at]
            _raise(sums, at, -amount)
        self.lots -= 1
        self.otherwise -= not same_measure(line, taking)


def opened(line: PermitLine, takings: Sequence[Taking]) -> Account:
    """The account of all lots of a line."""
    account = Account()
    for taking in sorted(takings, key=place_of):
        account.add(line, taking)
    return account


def place_of(taking: Taking) -> Place:
    """Where a lot stands in the order of collecting."""
    return taking.collected_on, taking.lot_id


def same_measure(line: PermitLine, taking: Taking) -> bool:
    """Whether a line's cap can be compared with a lot: both weighed or both counted, or no cap."""
    if line.cap_mg is None and line.cap_pieces is None:
        return True
    return (line.cap_mg if taking.by_weight else line.cap_pieces) is not None


def _raise(sums: list[int], first: int, amount: int) -> None:
    for at in range(first, len(sums)):
        sums[at] += amount
