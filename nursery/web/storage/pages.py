"""The pages of storage places."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import lazy as _l
from nursery.models import Lot, StoragePlace
from nursery.services.lots import LISTING as LOTS
from nursery.services.storage import LISTING, change_place, create_place
from nursery.web.listing import view_list
from nursery.web.records import RecordPages, Words, build
from nursery.web.storage.forms import StoragePlaceForm


def _lots(row: StoragePlace) -> Mapping[str, Any]:
    return {"lots": view_list(LOTS, where=(Lot.storage_place_id == row.id,))}


PAGES = RecordPages(
    name="storage",
    section="seed",
    model=StoragePlace,
    listing=LISTING,
    form=StoragePlaceForm,
    create=create_place,
    change=change_place,
    title=lambda row: row.name,
    context=_lots,
    detail_template="storage/detail.html",
    words=Words(
        list_title=_l("Storage places"),
        list_lead=_l("Where lots are kept until they are sown."),
        new_title=_l("New storage place"),
        new_button=_l("New storage place"),
        noun=_l("Storage place"),
        empty_title=_l("No storage places yet"),
        empty_text=_l("A fridge, a cellar, a dry room: name each place, so that a lot can be found again."),
        archive_text=_l("The place leaves the lists. Lots that are kept in it still name it."),
    ),
)
bp = build(PAGES)
