"""What is typed where something else is asked for."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

ODD = (
    "", " ", "\t", "\r\n", "\0", "a\0b", "-1", "0", "-0", "1", "1e309", "-1e309", "1e308", "-1e-308", "NaN", "nan",
    "inf", "-Infinity", "99999999999999999999", "-99999999999999999999", "9223372036854775808", "2147483648",
    "9" * 400, "0x10", "1_000", "1e5", "١٢٣", "²", "½", "Ⅷ", "1,5.2", "1,5", "85 %", "2027/28", "0000-00-00",
    "0001-01-01", "9999-12-31", "10000-01-01", "-0001-01-01", "2024-02-30", "2026-02-29", "31/12/2026", "12-31",
    "02-30", "25:61", "2026-W99", "\u202eabc", "\u200f\u200e", "\ufeff", "\ufffe", "\U000e0001", "e\u0301" * 50,
    "🌱", "🌱" * 3000, "a" * 100_000, "<script>alert(1)</script>", "{{7*7}}", "%s%n%(x)s", "' OR 1=1 --",
    "../../etc/passwd", "=1+1", "@SUM(A1)", "true", "True", "on", "null", "None", "[]", "{}", '{"a": [1]}', "[1,2",
    "[" * 2000, "P-001", "quercus-suber", "Quercus", "later", "none", "all", "csv", "seed", "38 35 40", "38.35",
    "1 2 3 x", "small 40, large 210", "http://example.org", "//example.org", "/lots", "\\\\host\\x",
)  # fmt: skip
_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)
_NUMBERS = st.one_of(st.integers(-(10**30), 10**30), st.floats()).map(str)


def one_value(names: tuple[str, ...]) -> st.SearchStrategy[Any]:
    """One value; other records' names among them."""
    return st.one_of(st.sampled_from(ODD), st.sampled_from(names), st.sampled_from(ODD), _NUMBERS, _TEXT)


def field_value(names: tuple[str, ...]) -> st.SearchStrategy[Any]:
    """What a field carries: a value, several, or nothing at all (None)."""
    one = one_value(names)
    return st.one_of(one, one, one, st.lists(one, max_size=3), st.none())


def typed(fields: dict[str, str], names: tuple[str, ...]) -> st.SearchStrategy[dict[str, Any]]:
    """A form filled in as it stands, but for some of its fields, or all."""
    if not fields:
        return st.just({})
    some = st.dictionaries(st.sampled_from(sorted(fields)), field_value(names), min_size=1, max_size=len(fields))
    every = st.fixed_dictionaries(dict.fromkeys(fields, one_value(names)))
    return st.one_of(some, some, some, every).map(lambda changed: {**fields, **changed})
