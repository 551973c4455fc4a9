"""Movements of stock, the order list, and what the weeks ahead take of trays and substrate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from flask import Response, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.errors import Invalid
from nursery.i18n import format_money
from nursery.i18n import gettext as _
from nursery.models import Container, Supply
from nursery.services.preferences import read_preferences
from nursery.services.supplies.booking import book_sowings
from nursery.services.supplies.needs import read_needs
from nursery.services.supplies.outlook import read_store
from nursery.services.supplies.stock import balance, move
from nursery.services.supplies.words import amount_text
from nursery.tabular.writer import Cell, Heading
from nursery.web.history import describe_history
from nursery.web.listing import send_table
from nursery.web.records import ID, form_facts
from nursery.web.session import actor, db, today
from nursery.web.supplies.forms import MovementForm, SupplyForm
from nursery.web.supplies.pages import PAGES, bp, detail_context


@bp.post(f"/supplies/{ID}/move")
def move_stock(record_id: int) -> ResponseReturnValue:
    """Write a movement down; a refused one comes back with what was typed."""
    row = _get(record_id)
    form = MovementForm(request.form)
    if form.validate():
        try:
            made = move(db(), actor(), supply=row, today=today(), **form.moved())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            held = amount_text(balance(db(), row), row.unit)
            told = _("Written down. There are %(held)s now.", held=held)
            flash(told if made else _("The count is what the ledger tells: %(held)s.", held=held), "ok")
            return redirect(url_for("supplies.detail", record_id=record_id), 303)
    row = _get(record_id)
    shown = SupplyForm(obj=row)
    return render_template(
        PAGES.detail_template, section=PAGES.section, pages=PAGES, row=row, title=row.name,
        facts=form_facts(row, shown), history=describe_history(db(), row, shown), **detail_context(row, form),
    ), 422  # fmt: skip


@bp.post(f"/supplies/{ID}/book")
def book(record_id: int) -> ResponseReturnValue:
    """Book what sowings took since the last count."""
    row = _get(record_id)
    try:
        booked = book_sowings(db(), actor(), supply=row, today=today())
    except Invalid as refused:
        db().rollback()
        flash(str(refused), "stop")
    else:
        flash(_("Booked: %(amount)s for sowings.", amount=amount_text(booked, row.unit)), "ok")
    return redirect(url_for("supplies.detail", record_id=record_id), 303)


@bp.get("/supplies/orders")
def orders() -> str:
    """What to order by when, to be printed."""
    store = read_store(db(), today=today())
    return render_template(
        "supplies/orders.html",
        section="grow",
        money=partial(format_money, currency=read_preferences(db()).currency),
        orders=store.orders,
        has_supplies=bool(store.outlooks),
        amount_text=amount_text,
        today=today(),
        shared=store.substrates,
        total=sum(order.price or 0.0 for order in store.orders),
        unpriced=sum(order.price is None for order in store.orders),
        exports=[(name.upper(), url_for(".export_orders", file_format=name)) for name in ("csv", "xlsx")],
    )


@bp.get("/supplies/orders.<any(csv,xlsx):file_format>")
def export_orders(file_format: str) -> Response:
    """The order list as a table."""
    headings = [
        Heading(_("Order by"), "date"), Heading(_("Supply"), width=32), Heading(_("Packs"), "number"),
        Heading(_("In a pack"), "number", digits=3), Heading(_("Unit")),
        Heading(_("Needed in the week of"), "date"), Heading(_("Supplier"), width=24),
        Heading(_("Price"), "number", digits=2), Heading(_("Late")),
    ]  # fmt: skip
    return send_table(_("Orders"), headings, _order_rows(), file_format)


def _order_rows() -> Iterator[Sequence[Cell]]:
    for order in read_store(db(), today=today()).orders:
        supply = order.supply
        yield [
            order.order_on, supply.name, order.packs, supply.pack, supply.unit.value, order.needed_in.monday,
            supply.supplier, order.price, _("late") if order.is_late else "",
        ]  # fmt: skip


@bp.get("/supplies/needs")
def needs() -> str:
    """Trays and substrate by week."""
    found = read_needs(db(), today=today())
    containers = db().scalars(
        select(Container).where(Container.id.in_(found.containers)).options(joinedload(Container.nursery))
    )
    names = {row.id: row for row in containers}
    return render_template(
        "supplies/needs.html",
        section="grow",
        found=found,
        containers=[names[key] for key in found.containers],
        some=[
            n
            for n in range(len(found.weeks))
            if _some(found.filled[:, n].sum(), found.back[:, n].sum(), found.litres[n])
        ],
    )


def _some(*amounts: float) -> bool:
    return any(amount > 0 for amount in amounts)


def _get(record_id: int) -> Supply:
    return db().get(Supply, record_id, options=[joinedload(Supply.container)]) or abort(404)
