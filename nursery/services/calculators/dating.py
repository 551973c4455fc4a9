"""Calculator for dates: backward from the planting day."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nursery.i18n import lazy as _l
from nursery.planning.calendars import Phase, schedule
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Items, Record
from nursery.services.calculators.fields import Date, Text, Whole
from nursery.services.limits import Bounds


def _run_schedule(*, plant_on: dt.date, phases: list[dict[str, Any]]) -> dict[str, Any]:
    dated = schedule(plant_on, (Phase(one["name"], one["days"], tuple(one["months"] or ())) for one in phases))
    return {
        "phases": [
            {
                "name": one.name,
                "start": one.start.isoformat(),
                "end": one.end.isoformat(),
                "wait_days": one.wait_days,
            }
            for one in dated
        ],
        "start": dated[0].start.isoformat(),
    }


SCHEDULE = Calculator(
    name="schedule",
    title=_l("Dates backward from planting"),
    question=_l("When must each step begin, so that the plants are ready on the planting day?"),
    fields=(
        Date("plant_on", _l("Planting day")),
        Items(
            "phases",
            _l("Phases in order of growth"),
            item=Record(
                "phase",
                _l("Phase"),
                fields=(
                    Text("name", _l("Name")),
                    Whole("days", _l("Days"), unit="d", bounds=Bounds(0, 3650)),
                    Items(
                        "months",
                        _l("Months in which it may start"),
                        item=Whole("month", _l("Month"), bounds=Bounds(1, 12)),
                        most=12,
                        default=None,
                        help=_l("1 to 12; left out, any month will do."),
                    ),
                ),
            ),
            most=40,
        ),
    ),
    results=(
        Result(
            "phases",
            _l("Phases with start, end and days of waiting"),
            "list",
            columns=(
                Result("name", _l("Phase"), "text"),
                Result("start", _l("Start"), "date"),
                Result("end", _l("End"), "date"),
                Result("wait_days", _l("Days of waiting at its end"), "whole"),
            ),
        ),
        Result("start", _l("First day"), "date"),
    ),
    formula=_l(
        "The last phase ends on the planting day and each phase ends when the next begins. A phase starts"
        " on the latest day that lets it finish; with months, on the latest such day in one of them, and the"
        " days left over are its wait."
    ),
    source=_l(
        "Common practice; checked against the pretreatment dates of Forest Research's Seed Storage database."
    ),
    run=_run_schedule,
    example={
        "plant_on": "2027-11-15",
        "phases": [
            {"name": "warm stratification", "days": 28},
            {"name": "cold stratification", "days": 84},
            {"name": "emergence", "days": 21, "months": [2, 3]},
            {"name": "growing", "days": 150},
            {"name": "hardening", "days": 30},
        ],
    },
)
