"""The pages of nurseries."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Bench, Container, Nursery
from nursery.services.benches import LISTING as BENCHES
from nursery.services.containers import LISTING as CONTAINERS
from nursery.services.nurseries import LISTING, change_nursery, create_nursery
from nursery.web.forms import RecordForm
from nursery.web.listing import view_list
from nursery.web.nurseries.forms import NurseryForm
from nursery.web.records import RecordPages, Words, build


def _facts(row: Nursery, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    plain = ("name", "bench_area_m2", "latitude", "longitude", "elevation_m")
    return [
        *((form[name].label.text, form.show(name, getattr(row, name))) for name in plain),
        (_("Monthly mean temperatures"), form.show("monthly_mean_c", row.monthly_mean_c)),
        (_("Notes"), row.notes),
    ]


def _belongings(row: Nursery) -> Mapping[str, Any]:
    return {
        "containers": view_list(CONTAINERS, where=(Container.nursery_id == row.id,)),
        "benches": view_list(BENCHES, where=(Bench.nursery_id == row.id,)),
    }


PAGES = RecordPages(
    name="nurseries",
    section="grow",
    model=Nursery,
    listing=LISTING,
    form=NurseryForm,
    create=create_nursery,
    change=change_nursery,
    title=lambda row: row.name,
    facts=_facts,
    context=_belongings,
    detail_template="nurseries/detail.html",
    words=Words(
        list_title=_l("Nurseries"),
        list_lead=_l("Growing places of your own."),
        new_title=_l("New nursery"),
        new_button=_l("New nursery"),
        noun=_l("Nursery"),
        empty_title=_l("No nursery yet"),
        empty_text=_l("Write down where you grow and how much bench there is. Then add the trays you have there."),
        archive_text=_l("The nursery leaves the lists. Archive its containers too, so that no plan chooses them."),
    ),
)
bp = build(PAGES)
