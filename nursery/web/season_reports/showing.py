"""A kept report in the language that the address asks for."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable

from flask import Flask, current_app, request
from markupsafe import Markup

from nursery.documents.report_parts import SeasonDocument
from nursery.i18n import LOCALES, locale_of
from nursery.models import SeasonReport
from nursery.services.season_report import read_report, report_pdf, show
from nursery.web.session import db

#: A megabyte each at most, for an ordinary season.
PDFS_KEPT = 4


def asked(record_id: int) -> tuple[SeasonReport, SeasonDocument]:
    """The report and how it reads; its own language where the address names none."""
    row = read_report(db(), record_id)
    return row, show(row.figures, language=language_of(row))


def language_of(row: SeasonReport) -> str:
    """The language asked for."""
    wanted = request.args.get("language", "")
    return wanted if wanted in LOCALES else row.language


def application() -> Flask:
    """The application itself, which a thread needs, not what stands in for it in a request."""
    app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]  # noqa: SLF001 -- its documented use
    return app


def pdf_of(app: Flask, document: SeasonDocument) -> bytes:
    """The PDF; the last few are kept, since a season of many batches takes seconds to set."""
    kept: OrderedDict[tuple[str, str], bytes] = app.extensions.setdefault("nursery_report_pdfs", OrderedDict())
    key = (document.digest, document.language)
    found = kept.get(key)
    if found is None:
        with locale_of(document.language):
            kept[key] = found = report_pdf(document)
        while len(kept) > PDFS_KEPT:
            kept.popitem(last=False)
    return found


def body_of(app: Flask, document: SeasonDocument, chart_url: Callable[..., str]) -> Markup:
    """The report as a piece of page, whether a request asks for it or not."""
    with locale_of(document.language):
        template = app.jinja_env.get_template("season_reports/_body.html")
        # The template escapes what people wrote.
        return Markup(template.render(report=document, chart_url=chart_url))  # noqa: S704 -- our own template
