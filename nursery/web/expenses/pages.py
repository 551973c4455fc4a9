"""The pages of expenses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.orm import joinedload

from nursery.i18n import format_date, format_money
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Expense
from nursery.services.costing.expenses import LISTING, change_expense, create_expense
from nursery.services.preferences import read_preferences
from nursery.web.expenses.forms import ExpenseForm
from nursery.web.forms import RecordForm
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db, today


def _facts(row: Expense, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    return [
        (_("What for"), row.what),
        (_("Spent on"), format_date(row.spent_on)),
        (_("Amount"), format_money(row.amount, read_preferences(db()).currency)),
        (_("Batch"), row.batch.code if row.batch else ""),
        (_("Species"), form.fact("species_id", row.species_id)),
        (_("Funder"), row.funder),
        (_("Notes"), row.notes),
    ]


def _initial() -> Mapping[str, Any]:
    return {"spent_on": today()}


PAGES = RecordPages(
    name="expenses",
    section="grow",
    model=Expense,
    listing=LISTING,
    form=ExpenseForm,
    create=create_expense,
    change=change_expense,
    title=lambda row: row.what,
    options=(joinedload(Expense.batch), joinedload(Expense.species)),
    facts=_facts,
    initial=_initial,
    list_template="costs/expenses.html",
    words=Words(
        list_title=_l("Expenses"),
        list_lead=_l("Money spent that is no wage and no supply from stock."),
        new_title=_l("New expense"),
        new_button=_l("New expense"),
        noun=_l("Expense"),
        empty_title=_l("No expenses yet"),
        empty_text=_l(
            "Write down what was paid for fuel, rent, repairs and the like. Each expense is borne by a batch, a"
            " species, a funder, or by all plants together."
        ),
        archive_text=_l("The expense leaves the lists and the costs. Its history stays."),
    ),
)
bp = build(PAGES)
