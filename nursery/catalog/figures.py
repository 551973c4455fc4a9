"""One working figure: its value, how far it may lie off, and where it comes from."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from nursery.errors import NotFound
from nursery.i18n import gettext as _

FigureValue = float | bool | str | tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A value in force; ``basis`` is ``seen``, ``memory``, ``practice``, ``learned`` from a nursery's batches or,
    where a person set it, ``own``. A figure that nobody knows has the basis ``unknown``; its value means nothing.
    """

    path: str
    value: FigureValue
    unit: str
    low: float | None
    high: float | None
    basis: str
    sources: tuple[str, ...]
    note: str

    @property
    def number(self) -> float:
        """The value of a figure that is a number; a wrong kind is a programming error."""
        if isinstance(self.value, bool | str | tuple):
            raise TypeError(f"{self.path} is no number")
        return float(self.value)

    @property
    def months(self) -> tuple[int, ...]:
        """The value of a figure that is a list of months."""
        if not isinstance(self.value, tuple):
            raise TypeError(f"{self.path} is no list of months")
        return self.value

    @property
    def own(self) -> bool:
        """Whether a person replaced the catalogue's figure."""
        return self.basis == "own"

    @property
    def learned(self) -> bool:
        """Whether it follows from batches seen in the nursery."""
        return self.basis == "learned"


def missing_figure(asked: str, known: Iterable[str]) -> NotFound:
    """The error for a figure or protocol that is not there, with the nearest ones."""
    near = difflib.get_close_matches(asked, list(known), n=3, cutoff=0.4)
    if near:
        return NotFound(
            _("The catalogue has no “%(asked)s”; near it are %(near)s.", asked=asked, near=", ".join(near))
        )
    return NotFound(_("The catalogue has no “%(asked)s”.", asked=asked))
