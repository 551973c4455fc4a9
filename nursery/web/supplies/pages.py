"""The pages of supplies: list, one supply with its ledger and its weeks ahead."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import joinedload

from nursery.i18n import lazy as _l
from nursery.models import Supply
from nursery.models.supplies import SupplyKind
from nursery.services.supplies.booking import unbooked
from nursery.services.supplies.outlook import Outlook, read_store
from nursery.services.supplies.records import LISTING, change_supply, create_supply
from nursery.services.supplies.stock import balance, read_stock_ledger
from nursery.services.supplies.words import MOVEMENT_LABELS, amount_text
from nursery.web.listing import ListView
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db, today
from nursery.web.supplies.drawing import draw_stock
from nursery.web.supplies.forms import MovementForm, SupplyForm


def detail_context(row: Supply, form: MovementForm | None = None) -> Mapping[str, Any]:
    """The ledger, the form of a movement, and the year ahead."""
    store = read_store(db(), today=today())
    outlook = next((one for one in store.outlooks if one.supply.id == row.id), None)
    return {
        "stock": balance(db(), row),
        "ledger": read_stock_ledger(db(), row),
        "movement": form or MovementForm(data={"happened_on": today()}),
        "movement_labels": MOVEMENT_LABELS,
        "amount_text": amount_text,
        "outlook": outlook,
        "weeks": store.needs.weeks,
        "drawing": draw_stock(outlook, store.needs.weeks) if outlook else None,
        "shared": store.substrates if row.kind is SupplyKind.SUBSTRATE else 1,
        "container_kind": SupplyKind.CONTAINER,
        "unbooked": unbooked(db(), row, today=today()),
    }


def _list_context(listed: ListView) -> Mapping[str, Any]:
    del listed
    store = read_store(db(), today=today())
    return {
        "orders": store.orders,
        "low": [one for one in store.outlooks if _is_low(one)],
        "amount_text": amount_text,
        "today": today(),
    }


def _is_low(outlook: Outlook) -> bool:
    return outlook.stock < outlook.supply.safety_stock


PAGES = RecordPages(
    name="supplies",
    section="grow",
    model=Supply,
    listing=LISTING,
    form=SupplyForm,
    create=create_supply,
    change=change_supply,
    title=lambda row: row.name,
    options=(joinedload(Supply.container),),
    context=detail_context,
    detail_template="supplies/detail.html",
    list_template="supplies/list.html",
    list_context=_list_context,
    words=Words(
        list_title=_l("Supplies"),
        list_lead=_l(
            "Trays, substrate, labels, feed: what there is, what the weeks ahead take, what to order when."
        ),
        new_title=_l("New supply"),
        new_button=_l("New supply"),
        noun=_l("Supply"),
        empty_title=_l("No supplies yet"),
        empty_text=_l(
            "Write down what you use up: first the substrate, then each kind of tray, then labels and feed. Count"
            " what there is. From the plan and the batches the weeks follow in which it runs low, and the day by"
            " which to order."
        ),
        archive_text=_l("The supply leaves the lists and is no longer ordered; its ledger stays."),
    ),
)
bp = build(PAGES)
