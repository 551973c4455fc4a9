"""The movement book as a page, a table and a document."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import islice
from typing import Any

from flask import Blueprint, Response, render_template, request, url_for
from sqlalchemy import func, select

from nursery.documents.book import BookTable, book_pdf
from nursery.documents.pages import Head
from nursery.errors import Invalid
from nursery.i18n import current_locale, format_date, format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.services.movement_book import Asked, Entry, read_all, read_page, read_totals
from nursery.services.movement_book.book import is_weight
from nursery.services.papers.words import DEFER
from nursery.services.preferences import read_preferences
from nursery.services.understanding import parse_date
from nursery.tabular.writer import Cell, Heading
from nursery.web.listing import send_table
from nursery.web.movement_book.words import amount_text, measure_label, species_options
from nursery.web.session import db, today

bp = Blueprint("movement_book", __name__)
#: Rows that are printed at once; a longer book is printed in parts.
MOST_PRINTED = 3000


@bp.get("/movement-book")
def page() -> str:
    """The book as the address narrows it, newest first."""
    asked, typed, unknown = _asked()
    book = read_page(db(), asked, after=request.args.get("after", ""))
    kept: dict[str, Any] = {name: value for name, value in typed.items() if value}
    return render_template(
        "movement_book/page.html", section="report", book=book, totals=read_totals(db(), asked), typed=typed,
        unknown=unknown, species=species_options(db()), amount=amount_text, measure=measure_label,
        next_url=url_for(".page", after=book.after, **kept) if book.after else "",
        exports=[
            ("CSV", url_for(".export", file_format="csv", **kept)),
            ("XLSX", url_for(".export", file_format="xlsx", **kept)), ("PDF", url_for(".pdf", **kept)),
        ],
        asked=bool(kept), defer=DEFER,
    )  # fmt: skip


@bp.get("/movement-book.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """Every row that the address asks for."""
    asked, _typed, _unknown = _asked()
    headings = [
        Heading(_("Day"), "date"), Heading(_("Lot")), Heading(_("Batch")), Heading(_("Species"), width=28),
        Heading(_("What")), Heading(_("From or to"), width=28), Heading(_("Of what")), Heading(_("In"), "number"),
        Heading(_("Out"), "number"), Heading(_("Unit")), Heading(_("Papers")), Heading(_("Person")),
        Heading(_("Reason")), Heading(_("In the sums")),
    ]  # fmt: skip
    return send_table(_("Movement book"), headings, _rows(read_all(db(), asked)), file_format)


@bp.get("/movement-book.pdf")
def pdf() -> Response:
    """The same for printing, cut where it would be too long to read."""
    asked, typed, _unknown = _asked()
    entries = list(islice(read_all(db(), asked), MOST_PRINTED + 1))
    cut = len(entries) > MOST_PRINTED
    own = read_preferences(db())
    told = [_("%(what)s: %(value)s", what=_NAMES[name], value=value) for name, value in typed.items() if value]
    notes = [str(DEFER)]
    if cut:
        most = format_number(MOST_PRINTED)
        notes.insert(0, _("Only the newest %(most)s rows are printed. Narrow the days.", most=most))
    table = BookTable(
        title=_("Movement book"),
        supplier=", ".join(filter(None, [own.organisation, own.address, own.supplier_number])),
        lead=", ".join(told) or _("All lots, all days."),
        heads=[
            Head(_("Day"), 1.2), Head(_("Lot, batch"), 1.6), Head(_("Species"), 1.8), Head(_("What"), 1.4),
            Head(_("From or to"), 2.2), Head(_("In"), 1.1, "RIGHT"), Head(_("Out"), 1.1, "RIGHT"),
            Head(_("Papers"), 1.2),
        ],
        rows=[_printed(entry) for entry in entries[:MOST_PRINTED]],
        total=None,
        notes=notes,
    )  # fmt: skip
    response = Response(book_pdf(table, day=today(), language=current_locale()), content_type="application/pdf")
    response.headers.set("Content-Disposition", "inline", filename=f"{table.title} {today().isoformat()}.pdf")
    return response


_NAMES: dict[str, Any] = {"lot": _l("Lot"), "species": _l("Species"), "first": _l("From"), "last": _l("To")}


def _asked() -> tuple[Asked, dict[str, str], bool]:
    """What the address asks for, as typed, and whether it names a lot that is none."""
    typed = {name: request.args.get(name, "").replace("\0", "").strip()[:120] for name in _NAMES}
    code = typed["lot"]
    lot_id = db().scalar(select(Lot.id).where(func.lower(Lot.code) == code.lower())) if code else None
    asked = Asked(lot_id=lot_id, species=typed["species"], first=_day(typed["first"]), last=_day(typed["last"]))
    return asked, typed, bool(code) and lot_id is None


def _day(text: str) -> dt.date | None:
    try:
        return parse_date(text) if text else None
    except Invalid:
        return None


def _rows(entries: Iterator[Entry]) -> Iterator[list[Cell]]:
    for entry in entries:
        amount = entry.change / 1000 if is_weight(entry.measure) else entry.change
        yield [
            entry.day, ", ".join(code for _id, code in entry.lots), entry.batch[1] if entry.batch else "",
            entry.species, entry.what, entry.partner, measure_label(entry.measure), amount if amount > 0 else None,
            -amount if amount < 0 else None, _("g") if is_weight(entry.measure) else measure_label(entry.measure),
            entry.papers, entry.person, entry.reason, _("yes") if entry.is_summed else _("no"),
        ]  # fmt: skip


def _printed(entry: Entry) -> list[str]:
    codes = [*(code for _id, code in entry.lots), *([entry.batch[1]] if entry.batch else [])]
    amount = amount_text(entry.measure, abs(entry.change))
    came = entry.change > 0
    return [
        format_date(entry.day), ", ".join(codes), entry.species, entry.what, entry.partner, amount if came else "",
        "" if came else amount, entry.papers,
    ]  # fmt: skip
