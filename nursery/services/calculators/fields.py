"""What a calculator asks for: fields with unit and bounds, and how a value given to one is read."""

from __future__ import annotations

import datetime as dt
import json
import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import KW_ONLY, dataclass
from dataclasses import field as declared
from enum import StrEnum
from typing import Any, ClassVar, TypeVar

from babel.support import LazyProxy

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.limits import Bounds
from nursery.services.understanding import YEARS, parse_date, parse_fraction, parse_number

T = TypeVar("T")

#: The word that leaves a number to the calculator.
AUTO = "auto"

#: Marks a field that must be given.
REQUIRED: Any = object()


class Refused(ValueError):  # noqa: N818 -- reads as a sentence: raise Refused(…)
    """One value cannot be taken; the message names it and says what to give instead."""


@dataclass(frozen=True)
class Field(ABC):
    """One input. ``default`` is taken when nothing is given; `REQUIRED` has none."""

    name: str
    label: LazyProxy
    _: KW_ONLY
    unit: str = ""
    help: LazyProxy | str = ""
    default: Any = REQUIRED

    kind: ClassVar[str]

    @abstractmethod
    def read(self, value: Any) -> Any:
        """The value understood, or `Refused`."""

    def limits(self) -> dict[str, Any]:
        """Bounds and choices for a description of the field."""
        return {}


@dataclass(frozen=True)
class Number(Field):
    """A finite number; text is read as people write numbers."""

    bounds: Bounds = Bounds(0, 1_000_000_000)  # noqa: RUF009 -- frozen

    kind = "number"

    def read(self, value: Any) -> float:
        """A float inside the bounds."""
        if isinstance(value, str):
            return self._bounded(_understood(parse_number, value))
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise Refused(_("%(value)s is not a number. Give digits, such as 12.5.", value=shown(value)))
        return self._bounded(value)

    def _bounded(self, value: float) -> float:
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        refusal = self.bounds.refusal(number)
        if refusal:
            raise Refused(refusal)
        return number

    def limits(self) -> dict[str, Any]:
        """Lowest and highest value, and whether the ends themselves are left out."""
        bounds = self.bounds
        return {"minimum": bounds.low, "maximum": bounds.high, "above": bounds.above, "below": bounds.below}


@dataclass(frozen=True)
class Whole(Number):
    """A whole number; 12.0 is taken for 12."""

    kind = "whole"

    def read(self, value: Any) -> int:
        """An int inside the bounds."""
        number = super().read(value)
        if not number.is_integer():
            raise Refused(_("%(value)s is not a whole number. Give one without decimals.", value=shown(value)))
        return int(number)


@dataclass(frozen=True)
class Fraction(Number):
    """A fraction 0–1; text may also be percent, a bare number above 1 is refused with the fraction it may mean."""

    bounds: Bounds = Bounds(0, 1)  # noqa: RUF009 -- frozen

    kind = "fraction"

    def read(self, value: Any) -> float:
        """A float inside the bounds."""
        if isinstance(value, str):
            return self._bounded(_understood(parse_fraction, value))
        if isinstance(value, (int, float)) and not isinstance(value, bool) and 1 < value <= 100:
            raise Refused(
                _(
                    "%(value)s is not a fraction from 0 to 1. If %(value)s percent is meant, give"
                    " %(fraction)s or"
                    " “%(value)s %%”.",
                    value=shown(value),
                    fraction=f"{value / 100:.6g}",
                )
            )
        return super().read(value)


@dataclass(frozen=True)
class WholeOrAuto(Whole):
    """A whole number, or the word “auto”."""

    kind = "whole-or-auto"

    def read(self, value: Any) -> Any:
        """An int, or `AUTO`."""
        if isinstance(value, str) and value.strip().lower() == AUTO:
            return AUTO
        return super().read(value)


@dataclass(frozen=True)
class Flag(Field):
    """Yes or no."""

    kind = "flag"

    def read(self, value: Any) -> bool:
        """A bool; from text only true and false, as a form sends them."""
        known = {True: True, False: False, "true": True, "false": False}
        if isinstance(value, (bool, str)) and value in known:
            return known[value]
        raise Refused(_("%(value)s is neither true nor false. Give one of the two.", value=shown(value)))


@dataclass(frozen=True)
class Choice(Field):
    """One of the codes of an enumeration, in small or capital letters.

    ``labels`` are what people read for the codes, ``also`` other words that are taken for them.
    """

    choices: type[StrEnum] = REQUIRED
    labels: Mapping[Any, LazyProxy] = declared(default_factory=dict)
    also: Mapping[str, StrEnum] = declared(default_factory=dict)

    kind = "choice"

    def read(self, value: Any) -> StrEnum:
        """The member."""
        word = value.strip().casefold() if isinstance(value, str) else ""
        try:
            return self.choices(self.also.get(word, word))
        except ValueError:
            known = ", ".join(f"“{choice}”" for choice in self.choices)
            raise Refused(
                _("%(value)s is not one of the choices. Give one of: %(known)s.", value=shown(value), known=known)
            ) from None

    def limits(self) -> dict[str, Any]:
        """The codes."""
        return {"choices": [str(choice) for choice in self.choices]}


@dataclass(frozen=True)
class Date(Field):
    """A day, as ISO text or as people write it."""

    kind = "date"

    def read(self, value: Any) -> dt.date:
        """A date."""
        if not isinstance(value, str):
            raise Refused(_("%(value)s is not a date. Give text such as “2027-11-15”.", value=shown(value)))
        return _understood(parse_date, value)

    def limits(self) -> dict[str, Any]:
        """First and last day."""
        return {"minimum": f"{YEARS[0]}-01-01", "maximum": f"{YEARS[-1]}-12-31"}


@dataclass(frozen=True)
class Text(Field):
    """A short name."""

    longest: int = 100

    kind = "text"

    def read(self, value: Any) -> str:
        """Text without spare spaces."""
        if not isinstance(value, str) or not value.strip() or len(value) > self.longest:
            raise Refused(
                _(
                    "%(value)s is not a name. Give text of 1 to %(longest)s characters.",
                    value=shown(value),
                    longest=self.longest,
                )
            )
        return value.strip()


def shown(value: Any) -> str:
    """A given value as JSON, short enough for a message."""
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 40 else text[:39] + "…"


def _understood(parse: Callable[[str], T], text: str) -> T:
    try:
        return parse(text)
    except Invalid as invalid:
        raise Refused(str(invalid)) from None
