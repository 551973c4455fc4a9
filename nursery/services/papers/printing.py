"""A paper as a PDF, in the language it was drawn up in: what was frozen, and whether it was signed since."""

from __future__ import annotations

from collections.abc import Callable

from nursery.catalog.law_words import COLOURS
from nursery.documents.papers import Passport, Printed, Section, document_pdf, label_pdf, passport_pdf
from nursery.i18n import format_date, locale_of
from nursery.i18n import gettext as _
from nursery.models import Paper
from nursery.models.papers import PaperKind
from nursery.services.papers.words import DRAFT, LABELS


def paper_pdf(paper: Paper, doubted: Callable[[], str] = str) -> bytes:
    """The paper as it stands now; ``doubted`` says, in the language of the paper, why it is true no longer."""
    with locale_of(paper.language):
        printed = _printed(paper, doubted())
        if paper.kind is PaperKind.PASSPORT:
            return passport_pdf(printed)
        return label_pdf(printed) if paper.kind in LABELS else document_pdf(printed)


def state_text(paper: Paper) -> str:
    """Void, signed or a draft, in the language now in force."""
    if paper.voided_at is not None:
        return _("VOID: %(reason)s", reason=paper.void_reason)
    if paper.signed_by:
        return _("Checked and signed by %(name)s, %(day)s", name=paper.signed_by, day=format_date(paper.signed_on))
    return str(DRAFT)


def _printed(paper: Paper, untrue: str) -> Printed:
    frozen = paper.particulars
    return Printed(
        title=frozen["title"],
        number=paper.number,
        day=paper.issued_on,
        language=paper.language,
        state=" ".join(filter(None, [untrue, state_text(paper)])),
        is_void=paper.voided_at is not None,
        sections=tuple(
            Section(one["title"], tuple((label, value) for _field, label, value in one["rows"]))
            for one in frozen["sections"]
        ),
        lines=tuple(tuple(line) for line in frozen.get("lines", ())),
        signed_by=paper.signed_by,
        signed_on=format_date(paper.signed_on),
        rules=frozen.get("rules", ""),
        notices=tuple(frozen.get("notices", ())),
        colour=COLOURS.get(frozen.get("category", ""), ""),
        category=frozen.get("category_text", ""),
        each=tuple(frozen.get("each", ())),
        each_label=next(
            (
                label
                for one in frozen["sections"]
                for field, label, _value in one["rows"]
                if field == "quantity-per-package"
            ),
            "",
        ),
        count=frozen.get("count", 1),
        document=frozen.get("document", ""),
        code=frozen.get("code", ""),
        official_title=frozen.get("official_title", ""),
        zone=frozen.get("zone", ""),
        passports=tuple(
            Passport(one["a"], one["b"], one["c"], one["d"], one["count"]) for one in frozen.get("passports", ())
        ),
    )
