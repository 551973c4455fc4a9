"""What becomes of a paper that was drawn up: somebody signs it, or it is made void; nothing deletes it."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Dispatch, Paper
from nursery.models.dispatches import DispatchStatus
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.dispatches.reasons import check_reason
from nursery.services.papers.applying import doubt, drawn_keys
from nursery.services.papers.consignments import consign_load
from nursery.services.papers.drawing_up import refuse_held


def sign(
    session: Session, actor: str, *, paper: Paper, signed_by: str, signed_on: dt.date | None, today: dt.date
) -> Paper:
    """Write down who checked and signed the paper."""
    _refuse_void(paper)
    if paper.signed_by:
        raise Conflict(_("%(name)s has signed it already.", name=paper.signed_by))
    if told := doubt(session, paper, today):
        raise Conflict(told)
    if paper.dispatch is not None:
        consignment = consign_load(session, paper.dispatch, today)
        refuse_held(session, consignment, consignment.part(paper.particulars.get("part", "")))
    refused = {}
    if not signed_by.strip():
        refused["signed_by"] = _("Write the name of the person who checked it and signs.")
    if signed_on is None:
        refused["signed_on"] = _("Write the day of the signature.")
    elif not paper.issued_on <= signed_on <= today:
        refused["signed_on"] = _(
            "It was drawn up on %(day)s; it is signed on that day or later, up to today.",
            day=format_date(paper.issued_on),
        )
    if refused:
        raise Invalid(refused)
    paper.signed_by, paper.signed_on = signed_by.strip()[:80], signed_on
    auditing.record(session, actor, action="signed", row=paper)
    return paper


def make_void(session: Session, actor: str, *, paper: Paper, reason: str) -> Paper:
    """Take a paper out of force; it is kept with the reason."""
    _refuse_void(paper)
    check_reason(reason, _("Write down why it is void."))
    paper.voided_at, paper.voided_by, paper.void_reason = utc_now(), actor, reason.strip()
    auditing.record(session, actor, action="made void", row=paper)
    if paper.dispatch is not None:
        _let_trays_go(session, paper.dispatch)
    return paper


def _let_trays_go(session: Session, load: Dispatch) -> None:
    """Trays of a planned load that no paper in force tells of follow the benches again."""
    session.flush()
    told = {
        code for paper in drawn_keys(session, dispatch_id=load.id).values() for code in paper.particulars["told"]
    }
    for line in load.lines if load.status is DispatchStatus.PLANNED else ():
        if line.batch.code not in told:
            line.trays = None


def _refuse_void(paper: Paper) -> None:
    if paper.voided_at is not None:
        raise Conflict(_("%(number)s is void: %(reason)s", number=paper.number, reason=paper.void_reason))
