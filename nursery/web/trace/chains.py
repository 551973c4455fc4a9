"""The steps of a drawn chain, as ``components/chain.html`` takes them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import url_for

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Batch, Draw, Lot
from nursery.models.lots import Material
from nursery.models.places import IndigenousStatus
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.ledger.shares import OriginShare
from nursery.services.populations import STATUS_LABELS
from nursery.services.seasons import season_name
from nursery.services.tracing import LotTrace, TargetTrace
from nursery.web.discretion import shown_elevation, shown_people, shown_place

Step = dict[str, Any]
#: Stands whose plants belong where they grow.
_SETTLED = {IndigenousStatus.AUTOCHTHONOUS, IndigenousStatus.INDIGENOUS}


def trunk(trace: TargetTrace) -> list[Step]:
    """Planting site, target and plan line."""
    target, site = trace.target, trace.target.site
    steps: list[Step] = [
        {
            "kind": _("Planting site"),
            "title": f"{site.code} · {site.name}",
            "url": url_for("stock.site", site_id=site.id),
            "icon": "place",
            "facts": _known(
                _("region %(code)s", code=site.region_code) if site.region_code else _("no region code"),
                _("basin %(name)s", name=site.basin) if site.basin else "",
                _coordinates(site.latitude, site.longitude),
            ),
        }
    ]
    line = trace.line
    if line is None:
        steps.append(
            {"kind": _("Plan line"), "title": _("Not in the current plan"), "icon": "plan", "broken": True}
        )
        return steps
    steps.append(
        {
            "kind": _("Plan line, season %(season)s", season=season_name(target.season)),
            "title": ngettext(
                "%(num)s plant of %(species)s", "%(num)s plants of %(species)s", line.plants_to_plant,
                species=line.species_name,
            ),
            "url": url_for("plans.line", record_id=line.id),
            "icon": "plan",
            "facts": _known(
                _("sown %(day)s", day=format_date(line.sow_on)),
                _("planted from %(day)s", day=format_date(line.plant_on)),
                line.nursery_name,
                line.container_name,
            ),
        }
    )  # fmt: skip
    return steps


def branch(draw: Draw, lot: Lot, *, made: bool = False) -> list[Step]:
    """From what a line draws of a lot down to the permit; of a lot made from others, the lot alone."""
    cuttings = lot.material == Material.CUTTINGS
    drawn = [
        ngettext("%(num)s cutting", "%(num)s cuttings", draw.seeds)
        if cuttings
        else ngettext("%(num)s seed", "%(num)s seeds", draw.seeds),
        _("%(grams)s g", grams=format_number(draw.milligrams / 1000, 2)) if draw.milligrams is not None else "",
        _("viability at sowing %(share)s", share=format_percent(draw.viability)),
        _("%(km)s km from the site", km=format_number(draw.distance_m / 1000, 1)),
    ]
    return [_lot_step(lot, drawn), *([] if made else root(lot)[1:])]


def grown(batch: Batch) -> list[Step]:
    """From a batch down to the permit of its lot; a merged one has a trace of its own with all its lots."""
    return [
        {
            "kind": _("Batch"),
            "title": batch.code,
            "url": url_for("trace.batch", batch_id=batch.id),
            "icon": "tray",
            "facts": _known(
                str(STAGE_LABELS[batch.stage]),
                ngettext("%(num)s plant", "%(num)s plants", batch.alive),
                _("sown %(day)s", day=format_date(batch.sown_on)),
            ),
        },
        *(root(batch.lot) if batch.lot is not None else []),
    ]


def sources(origins: Sequence[OriginShare]) -> list[tuple[str, list[Step]]]:
    """Of each lot that another was made from its share in words, and its way down to the permit."""
    return [
        (
            _(
                "%(share)s from %(population)s, %(year)s",
                share=format_percent(origin.share, 1),
                population=origin.lot.population.code,
                year=str(origin.lot.ripening_year),
            ),
            root(origin.lot),
        )
        for origin in origins
    ]


def stem(trace: LotTrace) -> list[Step]:
    """A lot and, where it was collected, its way down to the permit."""
    if not trace.sources:
        return root(trace.lot)
    made = ngettext(
        "made from %(num)s lot that was collected",
        "made from %(num)s lots that were collected",
        len(trace.sources),
    )
    return [_lot_step(trace.lot, [made])]


def root(lot: Lot) -> list[Step]:
    """From a lot down to its permit."""
    stand, trip = lot.population, lot.trip
    mothers = (
        ngettext("%(num)s mother plant", "%(num)s mother plants", lot.mother_plants)
        if lot.mother_plants
        else _("mother plants not counted")
    )
    steps = [_lot_step(lot, [_("ripening year %(year)s", year=str(lot.ripening_year)), mothers])]
    if trip is None:
        steps.append(
            {
                "kind": _("Collection trip"),
                "title": _("No trip recorded"),
                "icon": "trip",
                "broken": True,
                "facts": [_("collected on %(day)s", day=format_date(lot.collected_on))],
            }
        )
    else:
        steps.append(
            {
                "kind": _("Collection trip"),
                "title": f"{trip.code} · {format_date(trip.collected_on)}",
                "url": url_for("trips.detail", record_id=trip.id),
                "icon": "trip",
                "facts": _known(shown_people(trip.people or _("people not written down")), trip.weather),
            }
        )
    place = shown_place(stand)
    steps.append(
        {
            "kind": _("Population"),
            "title": f"{stand.code} · {stand.name}",
            "url": url_for("populations.detail", record_id=stand.id),
            "icon": "tree",
            "broken": stand.indigenous_status not in _SETTLED,
            "facts": _known(
                _("region %(code)s", code=stand.region_code) if stand.region_code else _("no region code"),
                _("basin %(name)s", name=stand.basin) if stand.basin else "",
                _coordinates(place.latitude, place.longitude),
                _("%(metres)s m", metres=format_number(height))
                if (height := shown_elevation(stand)) is not None
                else "",
                _("origin: %(status)s", status=str(STATUS_LABELS[stand.indigenous_status]).lower()),
            ),
        }
    )
    steps.append(
        {"kind": _("Collecting permit"), "title": lot.permit_number, "icon": "permit"}
        if lot.permit_number
        else {
            "kind": _("Collecting permit"),
            "title": _("No permit number recorded"),
            "icon": "permit",
            "broken": True,
        }
    )
    return steps


def _lot_step(lot: Lot, facts: list[str]) -> Step:
    return {
        "kind": _("Lot"),
        "title": lot.code,
        "url": url_for("trace.lot", lot_id=lot.id),
        "icon": "lot",
        "facts": _known(*facts, _("archived") if lot.archived_at else ""),
    }


def _coordinates(latitude: float, longitude: float) -> str:
    return f"{latitude:.5f}, {longitude:.5f}"


def _known(*facts: str) -> list[str]:
    return [fact for fact in facts if fact]
