"""A year of treatments: sums by product and month, and the log for printing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flask import Response, render_template, request
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Treatment
from nursery.services.health.crops import crops_of
from nursery.services.health.places import place_name
from nursery.services.health.sums import sum_year, year_bounds, years_treated
from nursery.services.limits import SEASON
from nursery.tabular.writer import Cell, Heading
from nursery.web.listing import send_table
from nursery.web.session import db, today
from nursery.web.treatments.pages import bp, dose_text

__all__ = ["bp"]


@bp.get("/treatments/year")
def year() -> str:
    """One year: what was used of each product by month, and every use for printing."""
    years = years_treated(db())
    shown = _asked(years)
    start, end = year_bounds(shown)
    log = db().scalars(
        select(Treatment)
        .options(joinedload(Treatment.batch), joinedload(Treatment.bench), joinedload(Treatment.nursery))
        .where(Treatment.treated_at >= start, Treatment.treated_at < end, Treatment.archived_at.is_(None))
        .order_by(Treatment.treated_at, Treatment.id)
    ).all()  # fmt: skip
    return render_template(
        "treatments/year.html",
        section="grow",
        year=shown,
        years=years,
        sums=sum_year(db(), shown),
        log=log,
        crops=crops_of(db(), log),
        place_name=place_name,
        dose_text=dose_text,
        amounts=amounts_text,
    )


@bp.get("/treatments/sums.<any(csv,xlsx):file_format>")
def sums(file_format: str) -> Response:
    """The sums of a year as a table."""
    shown = _asked(years_treated(db()))
    headings = [
        Heading(_("Month"), "date"),
        Heading(_("Product"), width=28),
        Heading(_("Registration number")),
        Heading(_("Active substance"), width=28),
        Heading(_("Uses"), "number"),
        Heading(f"{_('Area')} (m²)", "number"),
        Heading(f"{_('Water')} (l)", "number"),
        Heading(f"{_('Product used')} (l)", "number"),
        Heading(f"{_('Product used')} (kg)", "number"),
        Heading(_("Uses without an amount"), "number"),
    ]

    def rows() -> Iterator[Sequence[Cell]]:
        for each in sum_year(db(), shown):
            yield (
                each.month, each.product, each.registration_number, each.active_substance, each.uses,
                each.area_m2, each.water_l, each.amounts.get("l"), each.amounts.get("kg"), each.unknown,
            )  # fmt: skip

    return send_table(_("Treatments by product and month, %(year)s", year=shown), headings, rows(), file_format)


def amounts_text(amounts: dict[str, float]) -> str:
    """Litres and kilograms, as people read them."""
    return ", ".join(f"{format_number(value, 3)} {unit}" for unit, value in sorted(amounts.items()))


def _asked(years: Sequence[int]) -> int:
    asked = request.args.get("year", type=int)
    if asked is not None and SEASON.holds(asked):
        return asked
    return years[0] if years else today().year
