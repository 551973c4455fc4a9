"""The yearly declaration as a page, a table and a document."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flask import Blueprint, Response, render_template, request, url_for

from nursery.documents.book import BookTable, book_pdf
from nursery.documents.pages import Head
from nursery.i18n import current_locale, format_date, format_number
from nursery.i18n import gettext as _
from nursery.services.declaration import COLUMNS, Declared, campaigns, declare
from nursery.services.origin.words import CATEGORY_LABELS
from nursery.services.papers.words import DEFER
from nursery.services.preferences import read_preferences
from nursery.services.seasons import season_name, season_of, season_span
from nursery.tabular.writer import Cell, Heading
from nursery.web.listing import send_table
from nursery.web.session import db, today

bp = Blueprint("declaration", __name__)


@bp.get("/declaration")
def page() -> str:
    """The campaign that the address asks for, else the running one."""
    offered = campaigns(db())
    campaign = _campaign(offered)
    lines = _lines(campaign)
    first, last = season_span(campaign)
    return render_template(
        "declaration/page.html", section="report", lines=lines, campaign=campaign, name=season_name(campaign),
        first=first, last=last, offered=[(one, season_name(one)) for one in offered], only=_only(),
        columns=_shown(lines), value=_value, categories=CATEGORY_LABELS, sums=_sums(lines), defer=DEFER,
        exports=[
            ("CSV", url_for(".export", file_format="csv", campaign=campaign, only=_only() or None)),
            ("XLSX", url_for(".export", file_format="xlsx", campaign=campaign, only=_only() or None)),
            ("PDF", url_for(".pdf", campaign=campaign, only=_only() or None)),
        ],
    )  # fmt: skip


@bp.get("/declaration.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The lines as a table; weights in kilograms."""
    campaign = _campaign(campaigns(db()))
    headings = [
        Heading(_("Species"), width=28), Heading(_("Category")), Heading(_("Region of provenance")),
        Heading(_("Listed")),
        *(Heading(f"{label} (kg)" if weight else str(label), "number") for _key, label, weight in COLUMNS),
    ]  # fmt: skip
    title = _("Yearly declaration %(campaign)s", campaign=season_name(campaign).replace("/", "-"))
    return send_table(title, headings, _rows(_lines(campaign)), file_format)


@bp.get("/declaration.pdf")
def pdf() -> Response:
    """The lines for printing."""
    campaign = _campaign(campaigns(db()))
    lines, own = _lines(campaign), read_preferences(db())
    columns = _shown(lines)
    first, last = season_span(campaign)
    table = BookTable(
        title=_("Yearly declaration %(campaign)s", campaign=season_name(campaign)),
        supplier=", ".join(filter(None, [own.organisation, own.address, own.supplier_number])),
        lead=_("From %(first)s to %(last)s.", first=format_date(first), last=format_date(last)),
        heads=[
            Head(_("Species"), 2), Head(_("Category"), 1.5), Head(_("Region"), 1.2),
            *(Head(f"{label} (kg)" if weight else str(label), 1.1, "RIGHT") for _key, label, weight in columns),
        ],
        rows=[
            [line.species, str(CATEGORY_LABELS[line.category]), line.region,
             *(_value(line.sums[key], weight) for key, _label, weight in columns)]
            for line in lines
        ],
        total=[_("In all"), "", "", *(_value(_sums(lines)[key], weight) for key, _label, weight in columns)],
        notes=[str(DEFER)],
    )  # fmt: skip
    response = Response(book_pdf(table, day=today(), language=current_locale()), content_type="application/pdf")
    response.headers.set("Content-Disposition", "inline", filename=f"declaration-{campaign}.pdf")
    return response


def _campaign(offered: Sequence[int]) -> int:
    asked = request.args.get("campaign", type=int)
    if asked in offered:
        return int(asked or 0)
    return offered[0] if offered else season_of(today())


def _only() -> str:
    return "listed" if request.args.get("only") == "listed" else ""


def _lines(campaign: int) -> list[Declared]:
    lines = declare(db(), campaign)
    return [line for line in lines if line.regulated] if _only() else lines


def _shown(lines: Sequence[Declared]) -> list[tuple[str, str, bool]]:
    """Columns in which anything stands."""
    return [(key, str(label), weight) for key, label, weight in COLUMNS if any(line.sums[key] for line in lines)]


def _sums(lines: Sequence[Declared]) -> dict[str, int]:
    return {key: sum(line.sums[key] for line in lines) for key, _label, _weight in COLUMNS}


def _value(amount: int, weight: bool) -> str:
    return format_number(amount / 1e6, 3) if weight else format_number(amount)


def _rows(lines: Sequence[Declared]) -> Iterator[list[Cell]]:
    for line in lines:
        yield [
            line.species, str(CATEGORY_LABELS[line.category]), line.region,
            _("yes") if line.regulated else _("no"),
            *(line.sums[key] / 1e6 if weight else line.sums[key] for key, _label, weight in COLUMNS),
        ]  # fmt: skip
