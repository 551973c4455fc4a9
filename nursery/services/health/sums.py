"""What was used of each product, month by month."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Treatment
from nursery.services.health.doses import amount_used


@dataclass(slots=True)
class MonthSum:
    """One product in one month."""

    product: str
    registration_number: str
    active_substance: str
    #: First day of the month.
    month: dt.date
    uses: int = 0
    area_m2: float = 0.0
    water_l: float = 0.0
    #: Amounts by unit, litres or kilograms.
    amounts: dict[str, float] = field(default_factory=dict)
    #: Uses whose amount cannot be told from dose and unit.
    unknown: int = 0


def years_treated(session: Session) -> list[int]:
    """Years from the first use to the last, the latest first; none without a use."""
    ends = func.min(Treatment.treated_at), func.max(Treatment.treated_at)
    first, last = session.execute(select(*ends).where(Treatment.archived_at.is_(None))).one()
    if not (first and last):
        return []
    return list(range(last.astimezone().year, first.astimezone().year - 1, -1))


def year_bounds(year: int) -> tuple[dt.datetime, dt.datetime]:
    """Where a year begins and the next one does, on this machine's clock."""
    return dt.datetime(year, 1, 1).astimezone(), dt.datetime(year + 1, 1, 1).astimezone()


def sum_year(session: Session, year: int) -> Sequence[MonthSum]:
    """By product and month of the time of day here; one query."""
    start, end = year_bounds(year)
    rows = session.execute(
        select(
            Treatment.treated_at, Treatment.product, Treatment.registration_number, Treatment.active_substance,
            Treatment.dose, Treatment.dose_unit, Treatment.area_m2, Treatment.water_l,
        )
        .where(Treatment.treated_at >= start, Treatment.treated_at < end, Treatment.archived_at.is_(None))
        .order_by(Treatment.treated_at, Treatment.id)
    )  # fmt: skip
    found: dict[tuple[str, str, dt.date], MonthSum] = {}
    for row in rows:
        month = row.treated_at.astimezone().date().replace(day=1)
        key = row.product.casefold(), row.registration_number.casefold(), month
        total = found.setdefault(key, MonthSum(row.product, row.registration_number, row.active_substance, month))
        total.uses += 1
        total.area_m2 += row.area_m2 or 0
        total.water_l += row.water_l or 0
        amount = amount_used(row.dose, row.dose_unit, area_m2=row.area_m2, water_l=row.water_l)
        if amount is None:
            total.unknown += 1
        else:
            total.amounts[amount.unit] = total.amounts.get(amount.unit, 0.0) + amount.value
    return [found[key] for key in sorted(found)]
