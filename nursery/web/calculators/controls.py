"""A calculator's declared fields as controls, which the component ``field`` takes for fields of a form."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

from markupsafe import Markup
from wtforms.widgets import html_params

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import month_name
from nursery.services.calculators.composite import Items, Record
from nursery.services.calculators.fields import REQUIRED, Choice, Date, Field, Flag, Fraction, Number, Whole
from nursery.services.understanding import parse_date
from nursery.web.calculators.showing import show


@dataclass
class Control:
    """One field with what was typed into it."""

    declared: Field
    id: str
    typed: str = ""
    errors: list[str] = field(default_factory=list)

    @property
    def type(self) -> str:
        """What the component tells controls apart by."""
        if isinstance(self.declared, Flag):
            return "BooleanField"
        if isinstance(self.declared, Number) and self.declared.bounds.low >= 0:
            if type(self.declared) is Whole:
                return "IntegerField"
            return "DecimalField" if type(self.declared) in (Number, Fraction) else "StringField"
        return "StringField"  # a keypad of digits has no minus

    @property
    def label(self) -> Any:
        """Its name for people."""
        return SimpleNamespace(text=str(self.declared.label))

    @property
    def is_long(self) -> bool:
        """Whether many values go into it."""
        return self.declared.kind == "rules" or (isinstance(self.declared, Items) and not is_place(self.declared))

    @property
    def unit(self) -> str:
        """The unit beside it."""
        return str(self.declared.unit)

    @property
    def flags(self) -> Any:
        """Whether it must be filled in."""
        return SimpleNamespace(required=self.declared.default is REQUIRED)

    @property
    def description(self) -> str:
        """The hint: help, what may be typed, and what a blank stands for."""
        hints = [str(self.declared.help)]
        if self.is_long and self.declared.kind != "rules":
            hints.append(_("Parted by blanks, semicolons or new lines."))
        if is_place(self.declared):
            hints.append(_("Such as 40.1234, -7.3420 in degrees; west and south are negative."))
        usual = self.declared.default
        if usual is not REQUIRED and usual is not None and usual is not False:
            value = show(self.declared, usual)
            hints.append(_("Left empty: %(value)s.", value=value))
        return " ".join(filter(None, hints))

    def __call__(self, **attributes: Any) -> Markup:
        """The control itself."""
        known = {"id": self.id, "name": self.id, **attributes}
        if isinstance(self.declared, Choice):
            return self._list(self.declared, known)
        if self.is_long:
            return Markup("<textarea {}>\n{}</textarea>").format(_html(spellcheck="false", **known), self.typed)
        if isinstance(self.declared, Flag):
            return Markup("<input {}>").format(
                _html(type="checkbox", value="true", checked=bool(self.typed), **known)
            )
        kind, value = "text", self.typed
        if isinstance(self.declared, Date):
            kind, value = self._day()
        return Markup("<input {}>").format(_html(**{"type": kind, "value": value, "autocomplete": "off", **known}))

    def _list(self, declared: Choice, attributes: dict[str, Any]) -> Markup:
        options = [("", _("Choose one"))]
        options += [(str(code), str(declared.labels.get(code, code))) for code in declared.choices]
        if self.typed not in dict(options):
            options.append((self.typed, self.typed))  # a mistake in an address is shown, not lost
        marked = Markup(" selected")
        return Markup("<select {}>{}</select>").format(
            _html(**attributes),
            Markup("").join(
                Markup('<option value="{}"{}>{}</option>').format(
                    code, marked if code == self.typed else "", label
                )
                for code, label in options
            ),
        )

    def _day(self) -> tuple[str, str]:
        """A browser's calendar shows days alone; what is none stays to be seen in a text control."""
        try:
            return "date", parse_date(self.typed).isoformat() if self.typed else ""
        except Invalid:
            return "text", self.typed


@dataclass
class Months:
    """Twelve boxes to tick."""

    declared: Field
    id: str
    ticked: Sequence[str] = ()
    errors: list[str] = field(default_factory=list)

    @property
    def label(self) -> Any:
        """Its name for people."""
        return SimpleNamespace(text=str(self.declared.label))

    def __iter__(self) -> Iterator[tuple[str, str, bool]]:
        """Value, name and state of each box."""
        for month in range(1, 13):
            yield str(month), month_name(month), str(month) in self.ticked

    @property
    def summary(self) -> str:
        """The ticked months in words."""
        return ", ".join(name for _value, name, ticked in self if ticked) or _("any month")


@dataclass
class Row:
    """One of several records that are typed below each other."""

    legend: str
    controls: list[Control]
    months: list[Months]

    def __iter__(self) -> Iterator[Control | Months]:
        """All its controls."""
        return iter([*self.controls, *self.months])


@dataclass
class Rows:
    """All rows of a field."""

    declared: Items
    record: Record
    id: str
    rows: list[Row]
    more: int
    errors: list[str] = field(default_factory=list)

    @property
    def label(self) -> Any:
        """Its name for people."""
        return SimpleNamespace(text=str(self.declared.label))


def is_place(declared: Field) -> bool:
    """Whether a field is a point on the globe."""
    return isinstance(declared, Items) and declared.item.name == "degrees"


def _html(**attributes: Any) -> Markup:
    return Markup(html_params(**attributes))  # noqa: S704 -- html_params escapes the values
