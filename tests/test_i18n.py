"""Numbers in the reader's language, however large."""

from __future__ import annotations

import pytest

from nursery import i18n
from nursery.i18n import format_number, format_percent, format_scientific, locale_of


@pytest.mark.parametrize(
    ("locale", "plain", "decimal", "huge", "percent"),
    [
        ("en", "1,234,567", "1,234.5", "1.23457E30", "85.5 %"),
        ("pt", "1\xa0234\xa0567", "1\xa0234,5", "1,23457E30", "85,5 %"),
        ("es", "1.234.567", "1.234,5", "1,23457E30", "85,5 %"),
    ],
)
def test_numbers_are_written_as_the_locale_writes_them(
    locale: str, plain: str, decimal: str, huge: str, percent: str
) -> None:
    with locale_of(locale):
        written = (format_number(1234567), format_number(1234.5, 3), format_number(1.23456789e30, 6))

        assert written == (plain, decimal, huge)
        assert format_percent(0.855, 2) == percent


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (1e23, 6, "1E23"),
        (1e300, 0, "1E300"),
        (-1e300, 2, "-1E300"),
        (10**400, 0, "1E400"),
        (1.7e308, 6, "1.7E308"),
    ],
)
def test_numbers_too_long_to_write_out_come_in_powers_of_ten(value: float, digits: int, text: str) -> None:
    assert format_number(value, digits) == text


def test_endless_percentages_come_in_powers_of_ten() -> None:
    assert format_percent(1e40) == "1E42 %"


def test_tiny_numbers_keep_six_figures() -> None:
    assert format_scientific(1.23456789e-12) == "1.23457E-12"


def test_nothing_is_written_as_nothing() -> None:
    assert (format_number(None), format_percent(None)) == ("", "")


@pytest.mark.parametrize(
    ("locale", "money", "price"),
    [
        ("en", "€1,234.50", "€0.046"),
        ("pt", "1\u00a0234,50\u00a0€", "0,046\u00a0€"),
        ("es", "1.234,50\u00a0€", "0,046\u00a0€"),
    ],
)
def test_money_is_written_as_each_language_writes_it(locale: str, money: str, price: str) -> None:
    with i18n.locale_of(locale):
        assert (i18n.format_money(1234.5, "EUR"), i18n.format_money(0.0456, "EUR", 3)) == (money, price)


def test_a_currency_has_its_own_decimals_and_nothing_is_nothing() -> None:
    assert (i18n.format_money(1234.4, "JPY"), i18n.format_money(None, "EUR")) == ("JP¥1,234", "")
    assert (i18n.is_currency("GBP"), i18n.is_currency("QQQ"), i18n.currency_name("GBP")) == (
        True, False, "British Pound",
    )  # fmt: skip
