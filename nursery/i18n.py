"""One place for language and locale: gettext, plural forms, dates and numbers.

The current locale lives in a context variable, so pages, documents and the command line share it
and services need no web framework to speak a person's language.
"""

from __future__ import annotations

import datetime as dt
import decimal
import io
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Literal

from babel import Locale, dates, numbers
from babel.support import LazyProxy, NullTranslations, Translations

LOCALES = ("en", "pt", "es")
DOMAIN = "nursery"
_EUROPEAN = {"en": "en_GB", "pt": "pt_PT", "es": "es_ES"}
_FOLDER = Path(__file__).parent / "translations"
_current: ContextVar[str] = ContextVar("nursery_locale", default="en")


@lru_cache
def _translations(locale: str) -> NullTranslations:
    """Read the translators' own file: there is no compiled copy that could fall behind it."""
    file = _FOLDER / f"{locale}.po"
    if not file.is_file():
        return NullTranslations()
    from babel.messages.mofile import write_mo  # noqa: PLC0415 -- only other languages than English need it
    from babel.messages.pofile import read_po  # noqa: PLC0415 -- likewise

    compiled = io.BytesIO()
    with file.open("rb") as text:
        write_mo(compiled, read_po(text, locale=locale))
    compiled.seek(0)
    return Translations(compiled, DOMAIN)


def current_locale() -> str:
    """Code of the language now in force."""
    return _current.get()


def set_locale(locale: str) -> None:
    """Use ``locale`` for the rest of this request or command; unknown codes fall back to English."""
    _current.set(locale if locale in LOCALES else "en")


@contextmanager
def locale_of(locale: str) -> Iterator[None]:
    """Use ``locale`` inside a ``with`` block."""
    token = _current.set(locale if locale in LOCALES else "en")
    try:
        yield
    finally:
        _current.reset(token)


def _babel_locale() -> str:
    """How dates and numbers are written: each language as in Europe, English with the day before the month."""
    return _EUROPEAN[_current.get()]


def _babel_locale_of() -> Locale:
    return Locale.parse(_babel_locale())


def gettext(message: str, **values: Any) -> str:
    """Translate; named values fill ``%(name)s`` places."""
    text = _translations(_current.get()).ugettext(message)
    return text % values if values else text


def ngettext(one: str, many: str, num: int, **values: Any) -> str:
    """Translate with plural forms; ``%(num)s`` is the count, grouped as the locale writes it."""
    text = _translations(_current.get()).ungettext(one, many, num)
    return text % {"num": format_number(num), **values}


def lazy(message: str) -> LazyProxy:
    """Mark a text at import time and translate it each time it is shown."""
    return LazyProxy(gettext, message, enable_cache=False)


def format_number(value: float | None, digits: int = 0) -> str:
    """A number with the locale's separators and at most ``digits`` decimals; empty for None.

    What has too many digits to be written out comes in powers of ten.
    """
    # No zero has a sign: it would be remembered for the other.
    return "" if value is None else _number(value or 0, digits, _babel_locale())


@lru_cache(maxsize=8192)
def _number(value: float, digits: int, locale: str) -> str:
    pattern = "#,##0" + ("." + "#" * digits if digits else "")
    try:
        return str(numbers.format_decimal(value, format=pattern, locale=locale))
    except decimal.InvalidOperation:
        return format_scientific(value)


def format_money(value: float | None, currency: str, digits: int | None = None) -> str:
    """An amount of money as the locale writes it, with the currency's own decimals unless told; empty for None."""
    if value is None:
        return ""
    if digits is None:
        return str(numbers.format_currency(value, currency, locale=_babel_locale()))
    pattern = _babel_locale_of().currency_formats["standard"].pattern.replace(".00", "." + "0" * digits)
    return str(numbers.format_currency(value, currency, pattern, locale=_babel_locale(), currency_digits=False))


def is_currency(code: str) -> bool:
    """Whether three letters are those of a currency."""
    return bool(numbers.is_currency(code))


def currency_name(code: str) -> str:
    """A currency's name in the reader's language."""
    return numbers.get_currency_name(code, locale=_babel_locale())


def is_country(code: str) -> bool:
    """Whether two letters are those of a country (ISO 3166-1 alpha-2)."""
    return len(code) == 2 and code.isalpha() and code.isupper() and code in Locale.parse("en").territories


def country_name(code: str) -> str:
    """A country's name in the reader's language."""
    return str(_babel_locale_of().territories.get(code, code))


def format_scientific(value: float) -> str:
    """A number in powers of ten, with six figures at most."""
    rounded = decimal.Decimal(f"{decimal.Decimal(value):.5e}")
    return str(numbers.format_scientific(rounded, format="0.#####E0", locale=_babel_locale()))


def format_percent(value: float | None, digits: int = 0) -> str:
    """A fraction 0–1 as the locale writes percentages; empty for None."""
    return "" if value is None else _percent(value or 0, digits, _babel_locale())


@lru_cache(maxsize=8192)
def _percent(value: float, digits: int, locale: str) -> str:
    pattern = "#,##0" + ("." + "#" * digits if digits else "") + " %"
    try:
        return str(numbers.format_percent(value, format=pattern, locale=locale))
    except decimal.InvalidOperation:
        return f"{format_scientific(value * 100)} %"


def format_date(value: dt.date | None, style: str = "medium") -> str:
    """A date as the locale writes it (``short`` … ``full`` or a CLDR pattern); empty for None."""
    return "" if value is None else _date(value, style, _babel_locale())


@lru_cache(maxsize=8192)
def _date(value: dt.date, style: str, locale: str) -> str:
    return str(dates.format_date(value, style, locale=locale))


def format_day(value: dt.date | None) -> str:
    """Weekday, day and month, for lists inside one season; empty for None."""
    return "" if value is None else dates.format_skeleton("MMMEd", value, locale=_babel_locale())


def format_short_day(value: dt.date | None) -> str:
    """Day and month only, for charts and long rows; empty for None."""
    return "" if value is None else dates.format_skeleton("MMMd", value, locale=_babel_locale())


def format_moment(value: dt.datetime | None) -> str:
    """Day and time of day where this machine stands, as the locale writes them; empty for None."""
    if value is None:
        return ""
    here = value.astimezone()
    return f"{format_date(here.date())}, {dates.format_time(here, 'short', locale=_babel_locale())}"


def format_span(first: dt.date, last: dt.date) -> str:
    """From one date to another, as short as the locale allows: “23–29 Nov 2026”."""
    return str(dates.format_interval(first, last, "yMMMd", locale=_babel_locale()))


def month_name(month: int, width: Literal["abbreviated", "narrow", "wide"] = "abbreviated") -> str:
    """Name of month 1–12."""
    return str(dates.get_month_names(width, "stand-alone", _babel_locale())[month])


@cache
def language_name(code: str) -> str:
    """A language's own name for itself."""
    return (Locale.parse(code).get_display_name(code) or code).capitalize()
