"""Rows on costs, money and work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nursery.planning.work.costs import PARTS
from nursery.services.costing.costs import CostRow, Side
from nursery.services.season_report.money import Money
from nursery.services.season_report.plants import Cell, Sums
from nursery.services.season_report.rows import share, table
from nursery.services.season_report.scope import Scope
from nursery.services.season_report.survival import Survival
from nursery.services.season_report.work import HOUR_DIGITS, JobHours, PlantingDay

_NONE = Cell()


def money_tables(
    scope: Scope, money: Money, plants: Sums, survival: Survival, hours: Sequence[JobHours],
    days: Sequence[PlantingDay],
) -> dict[str, dict[str, Any]]:  # fmt: skip
    """By key."""
    return {
        "costs_by_species": _by_species(money, plants, survival),
        "cost_parts": _parts(money.by_species.total.actual),
        "costs_by_site": _by_site(money, plants),
        "costs_by_funder": _by_funder(money),
        "expenses": table(
            ("expense", "funder", "money"),
            ((one.what, one.funder, one.cents / 100) for one in money.expenses),
            ("", "", sum(one.cents for one in money.expenses) / 100),
        ),
        "supplies": table(
            ("supply", "unit", "used", "bought", "money"),
            ((one.name, one.unit.value, one.used, one.received, one.cents / 100) for one in money.supplies),
            ("", "", None, None, sum(one.cents for one in money.supplies) / 100),
        ),
        "hours": table(
            ("job", "paid", "given", "hours"),
            ((one.job.value, one.paid, one.given, _exact(one.paid + one.given)) for one in hours),
            ("", _all(hours, "paid"), _all(hours, "given"), _exact(_all(hours, "paid") + _all(hours, "given"))),
        ),
        "planting_days": _days(scope, days),
    }


def _by_species(money: Money, plants: Sums, survival: Survival) -> dict[str, Any]:
    rows = [
        (row.label, *_each(row, plants.by_species.get(row.id or 0, _NONE), survival.rate(row.id)))
        for row in money.by_species.rows
        if row.actual.total or row.actual.plants.grown
    ]
    # Survivors of species that nobody looked at are not known, and what those cost is no cost of survivors.
    seen = [row for row in rows if row[6] is not None]
    alive = sum(row[6] for row in seen)
    total = [*_each(money.by_species.total, plants.total, None)[:5], alive if seen else None]
    return table(
        (
            "species", "money", "grown", "each_grown", "in_the_ground", "each_planted", "surviving",
            "each_surviving",
        ),
        rows,
        ("", *total, share(sum(row[1] for row in seen), alive)),
    )  # fmt: skip


def _each(row: CostRow, cell: Cell, rate: tuple[float, float, float] | None) -> list[Any]:
    """Money, and for each plant grown, in the ground, and alive where somebody looked.

    Only plants of the season's batches share in what these cost.
    """
    total, ground = row.actual.total / 100, cell.own_planted + cell.own_replaced
    alive = None if rate is None else cell.own_planted * rate[0]
    return [
        total, cell.grown, share(total, cell.grown), ground, share(total, ground), alive,
        share(total, alive) if alive else None,
    ]  # fmt: skip


def _parts(side: Side) -> dict[str, Any]:
    return table(
        ("part", "money", "share"),
        ((part.value, side.part(part) / 100, share(side.part(part), side.total)) for part in PARTS
         if side.part(part)),
        ("", side.total / 100, 1.0 if side.total else None),
    )  # fmt: skip


def _by_site(money: Money, plants: Sums) -> dict[str, Any]:
    def values(row: CostRow, cell: Cell) -> list[Any]:
        total, ground = row.actual.total / 100, cell.own_planted + cell.own_replaced
        return [total, cell.grown, share(total, cell.grown), ground, share(total, ground)]

    rows = [
        ("" if row.id is None else row.label, *values(row, plants.by_site.get(row.id, _NONE)))
        for row in money.by_site.rows
        if row.actual.total or row.actual.plants.grown
    ]
    return table(
        ("site", "money", "grown", "each_grown", "in_the_ground", "each_planted"),
        rows,
        ("", *values(money.by_site.total, plants.total)),
    )


def _by_funder(money: Money) -> dict[str, Any]:
    def values(row: CostRow) -> list[Any]:
        given = _exact(row.hours_given)
        return [row.actual.total / 100, round(row.actual.plants.planted), given, row.in_kind / 100]

    rows = [[_funder(money, row), *values(row)] for row in money.by_funder.rows]
    total = values(money.by_funder.total)
    total[2] = _exact(sum(row[3] for row in rows))
    return table(("funder", "money", "sent", "given", "in_kind"), rows, ("", *total))


def _funder(money: Money, row: CostRow) -> str:
    """The funder's name; the words that stand for none belong to the language of the reader."""
    return row.label if any(one.funder == row.label for one in money.found.carriers) else ""


def _all(hours: Sequence[JobHours], name: str) -> float:
    return _exact(sum(getattr(one, name) for one in hours))


def _exact(hours: float) -> float:
    """Hours as they are shown: sums are those of what is shown, and binary fractions leave nothing behind."""
    return round(float(hours), HOUR_DIGITS)


def _days(scope: Scope, days: Sequence[PlantingDay]) -> dict[str, Any]:
    def summed(name: str) -> Any:
        known = [value for day in days if (value := getattr(day, name)) is not None]
        return _exact(sum(known)) if known else None

    return table(
        ("day", "site", "plants", "people", "volunteers", "hours", "area_m2", "per_ha"),
        (
            (
                one.day.isoformat(), scope.site_name(one.site_id), one.plants, one.people, one.volunteers,
                one.hours, one.area_m2, one.plants / one.area_m2 * 10_000 if one.area_m2 else None,
            )
            for one in days
        ),
        ("", "", sum(one.plants for one in days), "", summed("volunteers"), summed("hours"), summed("area_m2"),
         None),
    )  # fmt: skip
