"""The pages of the collecting programme: all of it, a trip to print, and the list for the authority."""

from __future__ import annotations

from collections.abc import Iterator

from flask import Blueprint, Response, render_template, request

from nursery.catalog import caution_text
from nursery.i18n import gettext as _
from nursery.services.codes import lot_code_stem
from nursery.services.populations import STATUS_LABELS
from nursery.services.programme import Programme, find_trip, read_programme
from nursery.services.programme.picks import Pick
from nursery.services.programme.trips import OutlinedTrip
from nursery.services.trips import recorded_trip
from nursery.web.listing import send_table
from nursery.web.programme import explaining, tables
from nursery.web.session import db, today

bp = Blueprint("programme", __name__)
FORMAT = "<any(csv,xlsx):file_format>"
#: Labels of one species and population in one print.
MOST_LABELS = 60


@bp.get("/programme")
def list_page() -> str:
    """The programme: trips week by week, then needs, then what is lacking."""
    programme = read_programme(db(), today=today())
    if programme is None:
        return render_template("programme/none.html", section="collect")
    return render_template(
        "programme/list.html",
        section="collect",
        programme=programme,
        explain=explaining,
    )


@bp.get(f"/programme.{FORMAT}")
def export(file_format: str) -> Response:
    """The programme as a file."""
    programme = read_programme(db(), today=today())
    rows = tables.programme_rows(programme) if programme else iter(())
    return send_table(_("Collecting programme"), tables.programme_headings(), rows, file_format)


@bp.get("/programme/trips/<trip_key>")
def trip(trip_key: str) -> str:
    """One trip for the field, with labels to cut out; ``labels=each`` gives one for every mother plant."""
    programme = read_programme(db(), today=today())
    found, each = find_trip(programme, trip_key), request.args.get("labels") == "each"
    return render_template(
        "programme/trip.html",
        section="collect",
        programme=programme,
        trip=found,
        recorded=recorded_trip(db(), found.week.monday, min(found.week.sunday, today())),
        cautions=_cautions(found),
        labels=list(_labels(found, each=each)),
        each=each,
        explain=explaining,
        status_labels=STATUS_LABELS,
    )


@bp.get("/programme/asking")
def asking() -> str:
    """What no permit covers, to be sent to the authority."""
    programme = read_programme(db(), today=today())
    if programme is None:
        return render_template("programme/none.html", section="collect")
    return render_template(
        "programme/asking.html", section="collect", programme=programme, picks=programme.uncovered,
        explain=explaining, status_labels=STATUS_LABELS,
    )  # fmt: skip


@bp.get(f"/programme/asking.{FORMAT}")
def asking_export(file_format: str) -> Response:
    """The same as a file."""
    programme = read_programme(db(), today=today())
    rows = tables.asking_rows(_uncovered(programme))
    return send_table(_("Collecting without a permit"), tables.asking_headings(), rows, file_format)


def _uncovered(programme: Programme | None) -> list[Pick]:
    return programme.uncovered if programme else []


def _cautions(trip: OutlinedTrip) -> list[tuple[str, str]]:
    """Each caution once, with the species it is about."""
    found: dict[str, dict[str, None]] = {}
    for pick in trip.picks:
        for key in pick.sheet.entry.cautions if pick.sheet.entry else ():
            found.setdefault(key, {})[pick.sheet.need.species_name] = None
    return [(caution_text(key), ", ".join(sorted(species))) for key, species in found.items()]


def _labels(trip: OutlinedTrip, *, each: bool) -> Iterator[dict[str, object]]:
    """Labels of a trip: one for each species and population, or one for each mother plant."""
    for _stand, picks in trip.stops:
        for pick in picks:
            count = min(pick.mothers, MOST_LABELS) if each else 1
            stem = lot_code_stem(pick.sheet.need.species_name, pick.sheet.need.opens_on.year)
            for number in range(1, count + 1):
                yield {"pick": pick, "stem": stem, "number": number if each else None}
