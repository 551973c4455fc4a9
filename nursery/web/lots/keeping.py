"""How a lot keeps, for its page: the forecast as a picture and as a table, and what is wrong with its place."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flask import url_for

from nursery.documents.viability_chart import Mark, Point, ViabilityWords, viability_svg
from nursery.i18n import format_date, format_percent
from nursery.i18n import gettext as _
from nursery.models import Lot, SeedTest
from nursery.models.lots import Material
from nursery.services.seed_tests import KIND_LABELS, rulings
from nursery.web.lots.reading import entry, tests
from nursery.web.session import today

if TYPE_CHECKING:
    from nursery.services.keeping import Course

#: Points of the curve; more would not be seen.
_STEPS = 60
_MONTH = dt.timedelta(30)
#: The picture ends here whatever is due later, in days after the test.
_LONGEST = dt.timedelta(3_653)
_LATER = (182, 365, 730)


@dataclass(frozen=True, slots=True)
class Row:
    """One day of the table: what was found or is expected on it."""

    day: dt.date
    text: str
    viability: str
    is_found: bool


@dataclass(frozen=True, slots=True)
class Keeping:
    """The forecast of a lot as its page shows it."""

    course: Course
    curve: Sequence[tuple[dt.date, float]]
    points: Sequence[Point]
    marks: Sequence[Mark]
    rows: Sequence[Row]
    title: str

    def draw(self, *, narrow: bool) -> bytes:
        """The picture."""
        words = ViabilityWords(self.title, _("Viability"))
        return viability_svg(self.curve, self.points, self.marks, words=words, narrow=narrow)


def keeping_of(lot: Lot) -> Keeping | None:
    """The forecast; None for a species that the catalogue does not know."""
    from nursery.services.keeping import course_of  # noqa: PLC0415 -- slow import

    species = entry(lot)
    if species is None:
        return None
    course, now = course_of(lot, species, today()), today()
    marks = [Mark(now, _("Today"), is_today=True), Mark(course.last_on, last_label(course))]
    if course.retest_on:
        marks.append(Mark(course.retest_on, _("Next test")))
    end = max(mark.day for mark in marks) + _MONTH
    end = max(min(end, course.tested_on + _LONGEST), now + _MONTH)
    marks = [mark for mark in marks if mark.day <= end]
    whole = (end - course.tested_on).days
    days = [course.tested_on + dt.timedelta(round(whole * step / _STEPS)) for step in range(_STEPS + 1)]
    points, found = _points(lot, course)
    return Keeping(
        course=course,
        curve=list(zip(days, course.on(days), strict=True)),
        points=points,
        marks=marks,
        rows=sorted([*found, *_expected(course, marks, now, end)], key=lambda row: row.day),
        title=_("Viability of %(lot)s", lot=lot.code),
    )


def context(row: Lot) -> Mapping[str, Any]:
    """Values of the part."""
    keeping = keeping_of(row)
    if keeping is None:
        return {"keeping": None}
    course = keeping.course
    return {
        "keeping": keeping,
        "keeping_urls": [url_for("lots.keeping", record_id=row.id, narrow=narrow) for narrow in (None, "1")],
        "keeping_alt": _(
            "Curve of viability: %(tested)s on %(day)s, %(today)s today, %(half)s on %(last)s. The table below"
            " holds the same numbers.",
            tested=format_percent(course.tested, 1),
            day=format_date(course.tested_on),
            today=format_percent(course.today, 1),
            half=format_percent(course.on([course.last_on])[0], 1),
            last=format_date(course.last_on),
        ),
        "misplaced": _misplaced(row),
        "left_out": _left_out(row, course),
        "missing_for_equation": _missing(row),
    }


def last_label(course: Course) -> str:
    """What the last day is called: a deadline for seed that cannot wait, the end of a life for other seed."""
    return _("Past its best") if course.can_wait else _("Sow by")


def _missing(row: Lot) -> list[str]:
    """What the viability equation lacks for this lot, in words."""
    species, place = entry(row), row.storage_place
    if species is None or row.material is Material.CUTTINGS:
        return [_("cuttings have no such equation")]
    storage = species.storage
    missing = []
    if storage.ke is None and storage.cw is None:
        missing.append(_("the constants KE and CW of the species"))
    elif storage.ke is None or storage.cw is None:
        missing.append(_("the constant %(name)s of the species", name="KE" if storage.ke is None else "CW"))
    if row.moisture_pct is None:
        missing.append(_("the moisture of the lot"))
    if place is None:
        missing.append(_("the place where it is kept"))
    elif place.temperature_c is None:
        missing.append(_("the temperature of its place"))
    return missing


def _left_out(row: Lot, course: Course) -> str:
    from nursery.services.storage_warnings import left_out  # noqa: PLC0415 -- with the other slow ones

    return left_out(course.harm, row.harmed_on)


def _misplaced(row: Lot) -> Sequence[Any]:
    from nursery.services.storage_warnings import misplaced  # noqa: PLC0415 -- with the other slow ones

    species, place = entry(row), row.storage_place
    if species is None or row.material is Material.CUTTINGS:
        return ()
    return misplaced(
        species.storage.behaviour,
        temperature_c=place.temperature_c if place else None,
        humidity_pct=place.humidity_pct if place else None,
        moisture_pct=row.moisture_pct,
        kept_days=(today() - row.collected_on).days,
    )


def _points(lot: Lot, course: Course) -> tuple[list[Point], list[Row]]:
    """Tests that may rule, and where none does the figure a person typed."""
    ruling = rulings(tests(lot))["germination"]
    shown = [test for test in tests(lot) if _counts(test)]
    points = [Point(test.tested_on, test.result, test.low, test.high, test is ruling) for test in shown]
    rows = [Row(test.tested_on, str(KIND_LABELS[test.kind]), _percent(test.result), True) for test in shown]
    if course.is_tested and (ruling is None or ruling.result != course.tested):
        points.append(Point(course.tested_on, course.tested, None, None, rules=True))
        rows.append(Row(course.tested_on, _("Typed on the lot"), _percent(course.tested), True))
    elif not course.is_tested:
        rows.append(Row(course.tested_on, _("Collected; the catalogue’s figure"), _percent(course.tested), False))
    return points, rows


def _counts(test: SeedTest) -> bool:
    return test.kind in {"germination", "cut", "tetrazolium"} and test.is_accepted and test.withdrawn_at is None


def _expected(course: Course, marks: Sequence[Mark], now: dt.date, end: dt.date) -> list[Row]:
    later = [now + dt.timedelta(days) for days in _LATER]
    days = [(mark.day, mark.label) for mark in marks] + [(day, _("Later")) for day in later if day <= end]
    values = course.on([day for day, _label in days])
    return [Row(day, label, _percent(value), False) for (day, label), value in zip(days, values, strict=True)]


def _percent(value: float) -> str:
    return format_percent(value, 1)
