"""Bench room: the weeks ahead of each nursery and bench, and what stands there in one of them."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, render_template, request, url_for

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Nursery
from nursery.services import records
from nursery.services.space.occupancy import MOST_WEEKS, WEEKS, NurseryUse, Occupancy, Use, read_occupancy
from nursery.services.weeks import Week
from nursery.web.links import address, line_address
from nursery.web.listing import send_table
from nursery.web.session import db, today
from nursery.web.space import table
from nursery.web.space.drawing import draw, told

bp = Blueprint("space", __name__)

TALL, LOW = 150, 64


@bp.get("/space")
def page() -> str:
    """Charts and tables of a year, by nursery."""
    found = read_occupancy(db(), today=today(), first=_first())
    start = found.weeks[0]
    return render_template(
        "space/page.html",
        section="grow",
        found=found,
        nurseries=[_nursery(found, nursery) for nursery in found.nurseries],
        told=told,
        levelling_url=address("space.levelling_page"),
        is_now=start == Week.of(today()),
        later_url=_here(start.plus(WEEKS - 1), ".page") if _reaches(start) else "",
        exports=[(name.upper(), _here(start, ".export", file_format=name)) for name in ("csv", "xlsx")],
    )


@bp.get("/space.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The same weeks as a table."""
    found = read_occupancy(db(), today=today(), first=_first())
    return send_table(_("Bench room"), table.headings(), table.rows(found), file_format)


@bp.get("/space/<int(max=2147483647):nursery_id>/<week>")
def week_page(nursery_id: int, week: str) -> str:
    """What stands in a nursery in one week."""
    nursery = records.get(db(), Nursery, nursery_id)
    asked = Week.parse(week)
    if asked is None:
        raise NotFound(_("“%(text)s” names no week. Weeks are written like 2027-W10.", text=week))
    found = read_occupancy(db(), today=today(), weeks=1, first=asked)
    use = next((one for one in found.nurseries if one.whole.place.nursery_id == nursery_id), None)
    if use is None:
        raise NotFound(_("This nursery is archived: nothing is reckoned for it."))
    return render_template(
        "space/week.html",
        section="grow",
        nursery=nursery,
        week=asked,
        use=use,
        told=told,
        standing=found.standing(nursery_id, 0),
        bench_names={bench.place.bench_id: bench.place.name for bench in use.benches},
        batch_address=lambda batch_id: address("batches.detail", record_id=batch_id),
        line_address=line_address,
    )


def _nursery(found: Occupancy, nursery: NurseryUse) -> dict[str, Any]:
    def url(week: Week) -> str:
        return url_for(".week_page", nursery_id=nursery.whole.place.nursery_id, week=week.name)

    def drawn(use: Use, height: int) -> dict[str, Any]:
        return {"use": use, "drawing": draw(use, found.weeks, url, height=height)}

    return {
        "place": nursery.whole.place,
        "water": nursery.water,
        "whole": drawn(nursery.whole, TALL),
        "benches": [drawn(bench, LOW) for bench in nursery.benches],
        "url": url,
    }


def _here(first: Week, endpoint: str, **values: str) -> str:
    return url_for(endpoint, **{"from": first.name, **values})  # type: ignore[arg-type]


def _first() -> Week:
    """The week that the address asks for, from this one on and not for ever."""
    now = Week.of(today())
    asked = Week.parse(request.args.get("from", "")) or now
    return min(max(asked, now), now.plus(MOST_WEEKS))


def _reaches(start: Week) -> bool:
    return start.plus(WEEKS) < Week.of(today()).plus(MOST_WEEKS)
