"""The pages of dossiers: choose a site or a lot, see what its dossier holds and lacks, take it along."""

from __future__ import annotations

from flask import Blueprint, Response, render_template, request

from nursery.documents.dossier import dossier_pdf
from nursery.documents.dossier_map import map_png
from nursery.i18n import gettext as _
from nursery.services.dossier.finding import find_subjects, seasons_of
from nursery.services.dossier.gaps import find_gaps
from nursery.services.dossier.gathering import Dossier, gather
from nursery.services.dossier.naming import file_name, title_of
from nursery.services.dossier.packing import LICENCES, pack, read_terms
from nursery.services.dossier.picture import draw_picture
from nursery.services.dossier.stories import facts_of
from nursery.services.dossier.telling import tell
from nursery.services.seasons import season_name
from nursery.tabular.zipping import ZIP_TYPE
from nursery.web.dossiers.asking import Wishes, asked_of, read_wishes
from nursery.web.links import address
from nursery.web.session import db

bp = Blueprint("dossiers", __name__)
SITE = "<int(max=2147483647):site_id>"
LOT = "<int(max=2147483647):lot_id>"
FILE = "<any(pdf,zip):file_format>"


@bp.get("/dossiers")
def page() -> str:
    """Pick a site or a lot."""
    text = request.args.get("q", "").replace("\0", "").strip()[:200]
    return render_template("dossiers/page.html", section="report", text=text, found=find_subjects(db(), text))


@bp.get(f"/dossiers/sites/{SITE}")
def site(site_id: int) -> str:
    """What the dossier of a site holds and lacks."""
    wishes = read_wishes()
    dossier = gather(db(), asked_of(wishes, site_id=site_id))
    return _shown(
        dossier, wishes, seasons_of(db(), site_id=site_id), endpoint="dossiers.site_file", site_id=site_id
    )


@bp.get(f"/dossiers/sites/{SITE}.{FILE}")
def site_file(site_id: int, file_format: str) -> Response:
    """The dossier of a site, on paper or as data."""
    return _sent(gather(db(), asked_of(read_wishes(), site_id=site_id)), file_format)


@bp.get(f"/dossiers/lots/{LOT}")
def lot(lot_id: int) -> str:
    """What the dossier of a lot holds and lacks."""
    wishes = read_wishes()
    dossier = gather(db(), asked_of(wishes, lot_id=lot_id))
    return _shown(dossier, wishes, seasons_of(db(), lot_id=lot_id), endpoint="dossiers.lot_file", lot_id=lot_id)


@bp.get(f"/dossiers/lots/{LOT}.{FILE}")
def lot_file(lot_id: int, file_format: str) -> Response:
    """The dossier of a lot, on paper or as data."""
    return _sent(gather(db(), asked_of(read_wishes(), lot_id=lot_id)), file_format)


def _shown(dossier: Dossier, wishes: Wishes, seasons: list[int], *, endpoint: str, **record: int) -> str:
    return render_template(
        "dossiers/dossier.html",
        section="report",
        dossier=dossier,
        title=title_of(dossier),
        facts=facts_of(dossier),
        gaps=[
            (gap.title, [(one.label, address(f"{one.kind}.detail", record_id=one.id)) for one in gap.records])
            for gap in find_gaps(dossier)
        ],
        wishes=wishes,
        seasons=[(str(season), season_name(season)) for season in seasons],
        licences=[("", _("Not said")), *((key, title) for key, (title, _path) in LICENCES.items())],
        endpoint=endpoint,
        record=record,
        trace=address("trace.site", **record) if "site_id" in record else address("trace.lot", **record),
    )


def _sent(dossier: Dossier, file_format: str) -> Response:
    if file_format == "pdf":
        response = Response(dossier_pdf(tell(db(), dossier)), content_type="application/pdf")
    else:
        terms = read_terms(request.args.get("licence", ""), request.args.get("contributors", ""))
        drawn = draw_picture(db(), dossier)
        further = {"map.png": map_png(drawn[0])} if drawn else {}
        response = Response(pack(dossier, terms, further=further), content_type=ZIP_TYPE)
    response.headers.set("Content-Disposition", "attachment", filename=file_name(dossier, file_format))
    return response
