"""Form fields that take what people type: decimal commas, percentages, any species name, a record's code.

A field keeps the typed text, gives the stored value as ``data``, says in ``understood`` what it made of the text
when that is not obvious, and ``show``s a stored value for pages and histories.
"""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any

from babel.support import LazyProxy
from flask import url_for
from markupsafe import Markup
from wtforms import DateField, Field, StringField, TextAreaField
from wtforms.validators import StopValidation
from wtforms.widgets import DateInput, TextInput, html_params

from nursery.errors import Invalid
from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models import Species
from nursery.services.limits import Bounds
from nursery.services.naming import resolve_species, species_suggestions
from nursery.services.understanding import parse_date, parse_fraction, parse_number
from nursery.web.session import db


class Needed:
    """The field must be filled in."""

    field_flags = {"required": True}

    def __call__(self, form: Any, field: Any) -> None:  # noqa: ARG002 -- the validator's signature
        """Refuse blanks."""
        if not field.raw_data or not clean(str(field.raw_data[0])):
            field.errors = []
            raise StopValidation(_("%(field)s must be filled in.", field=field.label.text))


class SuggestingInput(TextInput):
    """A text control with suggestions below it."""

    def __call__(self, field: Any, **attributes: Any) -> Markup:
        """The control and its list."""
        options = field.suggestions()
        listed = f"{field.id}-suggestions"
        control = super().__call__(field, list=listed, autocomplete="off", spellcheck="false", **attributes)
        rows = (
            Markup('<option value="{}" label="{}">').format(value, label)
            if label
            else Markup('<option value="{}">').format(value)
            for value, label in options
        )
        # The control comes last, because the sheet aligns the last thing of a field.
        return Markup('<datalist id="{}">{}</datalist>{}').format(listed, Markup("").join(rows), control)


class TypedField(Field):
    """A text control whose text is parsed; what was typed comes back as typed."""

    widget = TextInput()
    unit: str | LazyProxy = ""

    def __init__(self, label: Any = None, *, needed: bool = False, **options: Any) -> None:
        validators = [*([Needed()] if needed else []), *options.pop("validators", ())]
        super().__init__(label, validators, **options)
        self.typed = ""

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """Parse what was typed; a message of the parser becomes the field's error."""
        self.typed = clean(valuelist[0]) if valuelist else ""
        self.data = None
        if self.typed:
            try:
                self.data = self.parse(self.typed)
            except Invalid as refused:
                raise ValueError(str(refused)) from refused

    def _value(self) -> str:
        if self.raw_data:
            return self.typed
        return "" if self.data is None else self.write(self.data)

    def parse(self, text: str) -> Any:
        """The value of a text; raises ``ValueError`` or ``Invalid`` with a message for the person."""
        return text

    def write(self, value: Any) -> str:
        """A stored value as it would be typed."""
        return str(value)

    def show(self, value: Any) -> str:
        """A stored value as pages show it."""
        return self.write(value)

    @property
    def understood(self) -> str:
        """What the typed text was taken for, as a sentence, when it is not plain to see."""
        return ""


class NumberField(TypedField):
    """A number with decimal point or comma, within bounds."""

    def __init__(
        self,
        label: Any = None,
        *,
        bounds: Bounds | None = None,
        unit: str | LazyProxy = "",
        digits: int = 6,
        render_kw: Mapping[str, Any] | None = None,
        **options: Any,
    ) -> None:
        keypad = {"inputmode": "decimal", "autocomplete": "off", **(render_kw or {})}
        super().__init__(label, render_kw=keypad, **options)
        self.bounds, self.unit, self.digits = bounds, unit, digits

    def parse(self, text: str) -> Any:
        """The number, refused outside the bounds."""
        number = parse_number(text)
        refusal = self.bounds.refusal(number) if self.bounds else None
        if refusal:
            raise ValueError(refusal)
        return number

    def write(self, value: Any) -> str:
        """Shortest form."""
        return plain_number(value, self.digits)

    def show(self, value: Any) -> str:
        """The number with its unit."""
        return f"{format_number(value, self.digits)} {self.unit}".strip()


class WholeNumberField(NumberField):
    """A count."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, digits=0, render_kw={"inputmode": "numeric"}, **options)

    def parse(self, text: str) -> Any:
        """The count; a part of one, and a power of ten, which nobody counts in, are refused."""
        number = super().parse(text)
        if "e" in text.casefold():
            raise ValueError(_("“%(text)s” is not a number. Write digits, such as 1250 or 0.5.", text=text))
        if number != int(number):
            raise ValueError(_("%(value)s is not a whole number. Leave the decimals out.", value=text))
        return int(number)


class FractionField(TypedField):
    """A share of the whole: ``0.85``, ``0,85``, ``85`` and ``85 %`` mean the same."""

    def __init__(self, label: Any = None, *, bounds: Bounds | None = None, **options: Any) -> None:
        super().__init__(label, render_kw={"inputmode": "decimal", "autocomplete": "off"}, **options)
        self.bounds = bounds

    def parse(self, text: str) -> Any:
        """The fraction 0–1."""
        fraction = parse_fraction(text)
        if self.bounds and (refusal := self.bounds.share_refusal(fraction)):
            raise ValueError(refusal)
        return fraction

    def write(self, value: Any) -> str:
        """As a percentage."""
        return format_percent(value, 4)

    @property
    def understood(self) -> str:
        """Told whenever the percent sign was left out."""
        if self.data is None or "%" in self.typed:
            return ""
        return _(
            "%(field)s: “%(typed)s” was understood as %(value)s.",
            field=self.label.text,
            typed=self.typed,
            value=self.write(self.data),
        )


class PercentField(FractionField):
    """A share of the whole that is stored as 0–100: ``8``, ``8 %`` and ``0.08`` mean the same."""

    def __init__(self, label: Any = None, *, bounds: Bounds | None = None, **options: Any) -> None:
        super().__init__(label, **options)
        self.percent_bounds = bounds

    def parse(self, text: str) -> Any:
        """The percentage."""
        number = parse_number(text.strip().removesuffix("%"))
        if self.percent_bounds and not 0 <= number <= 100:  # the remedy of a fraction, 0.85, is none here
            raise ValueError(self.percent_bounds.refusal(number))
        percent = round(super().parse(text) * 100, 9)
        refusal = self.percent_bounds.refusal(percent) if self.percent_bounds else None
        if refusal:
            raise ValueError(refusal)
        return percent

    def write(self, value: Any) -> str:
        """With its sign."""
        return format_percent(value / 100, 4)


class DayField(DateField):
    """A day from the browser's calendar; where it has none, days typed in the usual ways are understood."""

    widget = DateInput()

    def __init__(self, label: Any = None, *, needed: bool = False, **options: Any) -> None:
        super().__init__(label, [Needed()] if needed else [], **options)
        self.typed = ""

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """Parse the day."""
        self.typed = clean(valuelist[0]) if valuelist else ""
        self.data = None
        if self.typed:
            try:
                self.data = parse_date(self.typed)
            except Invalid as refused:
                raise ValueError(str(refused)) from refused

    def _value(self) -> str:
        if self.raw_data:
            return self.data.isoformat() if self.data else self.typed
        return self.data.isoformat() if self.data else ""

    def show(self, value: Any) -> str:
        """The day as the locale writes it."""
        return format_date(dt.date.fromisoformat(value) if isinstance(value, str) else value)

    @property
    def understood(self) -> str:
        """Told when day and month were typed as numbers, in the order that not everybody uses."""
        if self.data is None or self.typed == self.data.isoformat():
            return ""
        return _(
            "%(field)s: “%(typed)s” was understood as %(day)s.",
            field=self.label.text,
            typed=self.typed,
            day=self.show(self.data),
        )


class TextField(StringField):
    """One line of text without spare blanks, as long as its column."""

    def __init__(self, label: Any = None, *, most: int = 120, needed: bool = False, **options: Any) -> None:
        super().__init__(label, [Needed()] if needed else [], render_kw={"maxlength": most}, **options)
        self.most = most

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """Keep the text."""
        self.data = clean(valuelist[0]) if valuelist else ""
        if len(self.data) > self.most:
            message = _("%(field)s has %(long)s characters; at most %(most)s fit. Shorten it.")
            raise ValueError(message % {"field": self.label.text, "long": len(self.data), "most": self.most})

    def show(self, value: Any) -> str:
        """The text."""
        return str(value)

    understood = ""


class NotesField(TextAreaField):
    """Free lines of text."""

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """Keep the lines."""
        self.data = valuelist[0].replace("\0", "").replace("\r\n", "\n").strip() if valuelist else ""

    def show(self, value: Any) -> str:
        """The text."""
        return str(value)

    understood = ""


class ListInput:
    """A list to choose one thing from. Our own, because WTForms is changing how its own takes choices."""

    def __call__(self, field: Any, **attributes: Any) -> Markup:
        """The control and its options."""
        attributes = {"id": field.id, "name": field.name, **attributes}
        chosen = field.chosen()
        marked = Markup(" selected")
        options = (
            Markup('<option value="{}"{}>{}</option>').format(value, marked if value == chosen else "", label)
            for value, label in field.options()
        )
        # html_params escapes values and drops attributes that are False.
        opened = Markup("<select {}>").format(Markup(html_params(**attributes)))  # noqa: S704 -- escaped above
        return opened + Markup("").join(options) + Markup("</select>")


class ChoiceField(Field):
    """One word of a fixed list."""

    widget = ListInput()
    understood = ""

    def __init__(
        self, label: Any = None, *, kind: type[StrEnum], labels: Mapping[Any, LazyProxy], **options: Any
    ) -> None:
        self.data: Any = None
        super().__init__(label, **options)
        self.kind, self.labels = kind, labels

    def options(self) -> Sequence[tuple[str, str]]:
        """Words and their labels."""
        return [(word.value, str(self.labels[word])) for word in self.kind]

    def chosen(self) -> str:
        """The word now chosen."""
        return str(self.data or "")

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The word, or a message naming the choices."""
        if not valuelist:
            return
        try:
            self.data = self.kind(valuelist[0])
        except ValueError:
            words = ", ".join(label for _word, label in self.options())
            raise ValueError(_("Choose one of: %(words)s.", words=words)) from None

    def show(self, value: Any) -> str:
        """The word's label."""
        return str(self.labels.get(value, value))


class SpeciesField(TypedField):
    """Any name of a species; ``data`` is the id of its row."""

    widget = SuggestingInput()

    def suggestions(self) -> Sequence[tuple[str, str]]:
        """Names of the catalogue."""
        return species_suggestions()

    def parse(self, text: str) -> Any:
        """The species, with near names offered when there is none."""
        return resolve_species(db(), text).id

    def write(self, value: Any) -> str:
        """Its scientific name."""
        species = db().get(Species, value)
        return species.scientific_name if species else ""

    def fact(self, value: Any) -> Markup | str:
        """Its name in italics, leading to its page."""
        species = db().get(Species, value)
        if species is None:
            return ""
        address = url_for("species.detail", record_id=species.key)
        return Markup('<a href="{}"><i class="taxon">{}</i></a>').format(address, species.scientific_name)

    @property
    def understood(self) -> str:
        """Told when another name than the accepted one was typed."""
        if self.data is None or (name := self.write(self.data)).casefold() == self.typed.casefold():
            return ""
        return _("“%(typed)s” was understood as %(name)s.", typed=self.typed, name=name)


def clean(text: str) -> str:
    """A typed line without control characters and blanks at its ends."""
    return "".join(c if c.isprintable() or c == " " else " " for c in text).strip()


def plain_number(value: float, digits: int) -> str:
    """A number as it can be typed back: no grouping, and never just three decimals, which look like thousands."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}"
    whole, _point, decimals = text.partition(".")
    return f"{whole}.{decimals}0" if len(decimals) == 3 else text
