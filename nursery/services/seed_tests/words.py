"""Tests in words: what each kind is called, what it found, why it stands or not, where the rule is from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import SeedTest
from nursery.models.seed_tests import TestKind

KIND_LABELS = {
    TestKind.GERMINATION: _l("Germination"),
    TestKind.TETRAZOLIUM: _l("Viability by tetrazolium"),
    TestKind.CUT: _l("Viability by cutting"),
    TestKind.PURITY: _l("Purity"),
    TestKind.WEIGHT: _l("Thousand-seed weight"),
    TestKind.MOISTURE: _l("Moisture by oven"),
}
RANGE_SOURCE = _l(
    "Tolerances between replicates: 7 CFR § 201.55(a) for four or two replicates of 100 with a mean from 71 to"
    " 99 % (or 1 to 29 %); other rows from memory or from the statistics behind that table."
)
MEMORY_SOURCE = _l("Limit from memory of the seed testing rules.")


def noted_test(note: str) -> str:
    """A test as the audit names it (kind and day), in words."""
    kind, day = note.split()
    return f"{KIND_LABELS[TestKind(kind)]}, {format_date(dt.date.fromisoformat(day))}"


def result_text(test: SeedTest) -> str:
    """The result with its unit."""
    if test.kind is TestKind.WEIGHT:
        return _("%(grams)s g", grams=format_number(test.result, 4))
    if test.kind is TestKind.MOISTURE:
        return format_percent(test.result / 100, 1)
    return format_percent(test.result, 1)


def verdict_text(test: SeedTest) -> str:
    """Why the test stands or not, with what was found and what is allowed; a refusal says what to do."""
    return _VERDICTS[test.verdict["rule"]](test)


def verdict_source(test: SeedTest) -> str:
    """Where the limit comes from; empty where none was needed."""
    rule = test.verdict["rule"]
    if rule in {"single", "unweighed"}:
        return ""
    return str(RANGE_SOURCE if rule == "range" else MEMORY_SOURCE)


def _range(test: SeedTest) -> str:
    values = {"found": format_number(test.verdict["found"], 1), "allowed": format_number(test.verdict["allowed"])}
    if test.is_accepted:
        return _("Replicates differ by %(found)s points; up to %(allowed)s are allowed.", **values)
    return _(
        "Refused: replicates differ by %(found)s points, and only %(allowed)s are allowed. Something other than"
        " chance parted them. Repeat the test with a new sample.",
        **values,
    )


def _variation(test: SeedTest) -> str:
    values = {
        "found": format_percent(test.verdict["found"] / 100, 1),
        "allowed": format_percent(test.verdict["allowed"] / 100, 1),
    }
    if test.is_accepted:
        return _("Weights vary by %(found)s; up to %(allowed)s are allowed.", **values)
    return _(
        "Refused: weights vary by %(found)s, and only %(allowed)s are allowed. Weigh eight more replicates and"
        " record all sixteen.",
        **values,
    )


def _sixteen(test: SeedTest) -> str:
    dropped = test.verdict["found"]
    if not dropped:
        return _("The mean of sixteen replicates, all within two standard deviations.")
    return ngettext(
        "The mean of sixteen replicates without %(num)s beyond two standard deviations.",
        "The mean of sixteen replicates without %(num)s beyond two standard deviations.",
        dropped,
    )


def _parting(test: SeedTest) -> str:
    values = {
        "found": format_percent(test.verdict["found"], 1),
        "allowed": format_percent(test.verdict["allowed"]),
    }
    if test.is_accepted:
        return _("The parts differ from the sample by %(found)s; up to %(allowed)s are allowed.", **values)
    return _(
        "Refused: the parts differ from the sample by %(found)s, and only %(allowed)s are allowed. Repeat the test"
        " with a new sample.",
        **values,
    )


def _oven(test: SeedTest) -> str:
    values = {
        "found": format_number(test.verdict["found"], 2),
        "allowed": format_number(test.verdict["allowed"], 1),
    }
    if test.is_accepted:
        return _("Samples differ by %(found)s points; up to %(allowed)s are allowed.", **values)
    return _(
        "Refused: samples differ by %(found)s points, and only %(allowed)s are allowed. Repeat the test with new"
        " samples.",
        **values,
    )


_VERDICTS: dict[str, Callable[[SeedTest], str]] = {
    "range": _range,
    "variation": _variation,
    "sixteen": _sixteen,
    "parting": _parting,
    "oven": _oven,
    "single": lambda _test: _("One sample, so there are no replicates to compare."),
    "unweighed": lambda _test: _("The sample was not weighed before, so the parts cannot be checked against it."),
}
