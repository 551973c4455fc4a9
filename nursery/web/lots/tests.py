"""The tests of a lot, for its page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import format_date, format_percent
from nursery.i18n import gettext as _
from nursery.models import Lot, SeedTest
from nursery.models.lots import Material
from nursery.models.seed_tests import TestKind
from nursery.services.seed_tests import KIND_LABELS, result_text, rulings, verdict_source, verdict_text
from nursery.services.seed_tests.ruling import COLUMN_OF
from nursery.web.lots.reading import tests

#: In the order in which a seed lab asks.
KINDS = (
    TestKind.GERMINATION,
    TestKind.TETRAZOLIUM,
    TestKind.CUT,
    TestKind.PURITY,
    TestKind.WEIGHT,
    TestKind.MOISTURE,
)


def context(row: Lot) -> Mapping[str, Any]:
    """Values of the part; cuttings are not tested as seed."""
    if row.material is Material.CUTTINGS:
        return {"tests": None}
    found = tests(row)
    ruling = rulings(found)
    return {
        "tests": [_described(test, ruling) for test in found],
        "test_kinds": [(kind.value, str(KIND_LABELS[kind])) for kind in KINDS],
        "typed_over": _typed_over(row, ruling),
    }


def _described(test: SeedTest, ruling: Mapping[str, SeedTest | None]) -> dict[str, Any]:
    return {
        "id": test.id,
        "kind": str(KIND_LABELS[test.kind]),
        "day": test.tested_on,
        "person": test.person,
        "result": result_text(test),
        "range": _range(test),
        "how": _how(test),
        "notes": test.notes,
        "verdict": verdict_text(test),
        "source": verdict_source(test),
        "status": _status(test, ruling[COLUMN_OF[test.kind]] is test),
        "withdrawn": _withdrawn(test),
    }


def _status(test: SeedTest, rules: bool) -> tuple[str, str]:
    if test.withdrawn_at is not None:
        return "waiting", _("Withdrawn")
    if not test.is_accepted:
        return "stop", _("Refused, repeat it")
    return ("ok", _("Rules the lot")) if rules else ("info", _("Accepted"))


def _withdrawn(test: SeedTest) -> str:
    if test.withdrawn_at is None:
        return ""
    return _(
        "Withdrawn by %(person)s on %(day)s: %(reason)s",
        person=test.withdrawn_by,
        day=format_date(test.withdrawn_at.date()),
        reason=test.withdrawn_reason,
    )


def _range(test: SeedTest) -> str:
    if test.low is None or test.high is None or COLUMN_OF[test.kind] != "germination":
        return ""
    return _("95 %% range %(low)s to %(high)s", low=format_percent(test.low, 1), high=format_percent(test.high, 1))


def _how(test: SeedTest) -> str:
    """Days, temperature and pretreatment, and what was counted."""
    parts = []
    if "counts" in test.readings:
        counted = ", ".join(str(count) for count in test.readings["counts"])
        parts.append(_("%(counts)s of %(seeds)s each", counts=counted, seeds=test.readings["seeds"]))
    if test.days:
        parts.append(_("%(days)s days", days=test.days))
    return " · ".join([*parts, *(text for text in (test.regime, test.pretreatment) if text)])


def _typed_over(row: Lot, ruling: Mapping[str, SeedTest | None]) -> list[str]:
    """Figures that a person typed after the test that would rule them; what was typed last holds."""
    labels = {
        "germination": _("Germination"), "purity": _("Purity"), "tsw_g": _("Thousand-seed weight"),
        "moisture_pct": _("Moisture content"),
    }  # fmt: skip
    return [
        labels[column]
        for column, test in ruling.items()
        if test is not None and getattr(row, column) != test.result
    ]
