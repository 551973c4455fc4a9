"""Money spent that is no wage and no supply from stock."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Expense, Species
from nursery.services import checking, limits, records
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Filter, Listing, options_of

#: In whatever currency.
BOUNDS = {"amount": Bounds(0, 100_000_000, above=True)}


def _joins(query: Select[Any]) -> Select[Any]:
    return query.outerjoin(Batch, Expense.batch_id == Batch.id).outerjoin(
        Species, Expense.species_id == Species.id
    )


LISTING = Listing(
    model=Expense,
    order="-spent_on",
    joins=_joins,
    columns=(
        Column("what", _l("What for"), Expense.what, link=("expenses.detail", Expense.id)),
        Column("spent_on", _l("Spent on"), Expense.spent_on, "date"),
        Column("amount", _l("Amount"), Expense.amount, "number", digits=2),
        Column("batch", _l("Batch"), Batch.code, "code"),
        Column("species", _l("Species"), Species.scientific_name, "taxon"),
        Column("funder", _l("Funder"), Expense.funder),
        Column("notes", _l("Notes"), Expense.notes, on_screen=False),
    ),
    search=(Expense.what, Expense.funder, Batch.code, Species.scientific_name),
    search_species=True,
    filters=(Filter("funder", _l("Funder"), Expense.funder, options_of(Expense.funder)),),
)


def create_expense(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Expense:
    """Write an expense down."""
    _check(session, values, today)
    return records.create(session, actor, Expense, values)


def change_expense(
    session: Session,
    actor: str,
    *,
    row: Expense,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Expense:
    """Correct an expense."""
    _check(session, {**checking.columns_of(row), **values}, today)
    return records.update(session, actor, row, values, version=version)


def _check(session: Session, values: Mapping[str, Any], today: dt.date) -> None:
    refused = checking.beyond(values, BOUNDS)
    day = values["spent_on"]
    if day > today:
        refused["spent_on"] = _(
            "%(day)s is still to come. Write an expense down on its day or later.", day=format_date(day)
        )
    elif day.year < limits.SEASON.low:
        refused["spent_on"] = _("%(day)s is too long ago. Correct the date.", day=format_date(day))
    batch = session.get(Batch, values.get("batch_id") or 0)
    species = session.get(Species, values.get("species_id") or 0)
    if batch is not None and species is not None and batch.species_id != species.id:
        refused["species_id"] = _(
            "%(batch)s is no batch of %(species)s. Leave the species empty, or name another batch.",
            batch=batch.code,
            species=species.scientific_name,
        )
    if refused:
        raise Invalid(refused)
