"""Rulings of authorities that what is planted somewhere, or by somebody, is not for forestry purposes.

Without one every planting is taken as forestry: whether restoration counts as forestry is decided by each country.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import or_, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session, joinedload

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Recipient, Ruling, Site
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.dispatches.reasons import check_reason

#: Where the law leaves such plants out, as it was read.
WHERE = "RD 289/2003 art. 1"


def record_ruling(
    session: Session, actor: str, *, of: Site | Recipient, reason: str, ruled_on: dt.date, today: dt.date
) -> Ruling:
    """Write down that an authority ruled so for a site, or for whatever a recipient plants.

    Raises
    ------
    Invalid
        At ``reason`` without one or one too long, at ``ruled_on`` for a day to come.
    Conflict
        Where a ruling stands already.
    """
    check_reason(reason, _("Write down which authority ruled so, and by which letter."))
    if ruled_on > today:
        raise Invalid({"ruled_on": _("The day lies in the future. Write the ruling down once it is made.")})
    if (known := standing_ruling(session, of)) is not None:
        raise Conflict(
            _("A ruling of %(day)s stands already. Withdraw it first.", day=format_date(known.ruled_on))
        )
    row = Ruling(**_key(of), reason=reason.strip(), ruled_on=ruled_on, person=actor)
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError as clash:  # the database lets one stand
        raise Conflict(_("Somebody wrote a ruling down at this moment. Look again.")) from clash
    details = {"name": [None, of.name], "reason": [None, row.reason], "ruled_on": [None, ruled_on.isoformat()]}
    auditing.record(session, actor, action="ruling recorded", row=row, details=details)
    return row


def withdraw_ruling(session: Session, actor: str, *, ruling: Ruling, reason: str) -> Ruling:
    """From today on it does not hold; what travelled before keeps it."""
    if ruling.withdrawn_at is not None:
        raise Conflict(_("This ruling was withdrawn already, by %(person)s.", person=ruling.withdrawn_by))
    check_reason(reason, _("Write down why it does not hold any more."))
    ruling.withdrawn_at, ruling.withdrawn_by, ruling.withdrawal = utc_now(), actor, reason.strip()
    auditing.record(session, actor, action="withdrawn", row=ruling, details={"reason": [None, reason.strip()]})
    return ruling


def standing_ruling(session: Session, of: Site | Recipient) -> Ruling | None:
    """The one in force."""
    return next((row for row in rulings_of(session, of) if row.withdrawn_at is None), None)


def rulings_of(session: Session, of: Site | Recipient) -> Sequence[Ruling]:
    """Every one, the newest first."""
    return session.scalars(select(Ruling).filter_by(**_key(of)).order_by(Ruling.id.desc())).all()


def read_rulings(
    session: Session, *, site_ids: Collection[int], recipient_ids: Collection[int]
) -> Sequence[Ruling]:
    """Every one of these sites and recipients, in one query."""
    return session.scalars(
        select(Ruling)
        .where(or_(Ruling.site_id.in_(site_ids), Ruling.recipient_id.in_(recipient_ids)))
        .options(joinedload(Ruling.site), joinedload(Ruling.recipient))
        .order_by(Ruling.id)
    ).all()


def ruling_on(
    rulings: Sequence[Ruling], day: dt.date, *, site_id: int | None = None, recipient_id: int | None = None
) -> Ruling | None:
    """The ruling that held on a day for a site, or else for a recipient."""
    held = [row for row in rulings if _holds(row, day)]
    of_site = (row for row in held if site_id is not None and row.site_id == site_id)
    of_recipient = (row for row in held if recipient_id is not None and row.recipient_id == recipient_id)
    return next(of_site, None) or next(of_recipient, None)


def ruling_text(ruling: Ruling) -> str:
    """Why papers on forest material do not apply, with who says so."""
    told = {"day": format_date(ruling.ruled_on), "reason": ruling.reason, "person": ruling.person}
    if ruling.site is not None:
        return _(
            "What is planted at %(site)s is not for forestry purposes, by a ruling of %(day)s: %(reason)s (written"
            " down by %(person)s). The law on forest material leaves it out; the delivery note says so.",
            site=ruling.site.name,
            **told,
        )
    return _(
        "What %(recipient)s plants is not for forestry purposes, by a ruling of %(day)s: %(reason)s (written down"
        " by %(person)s). The law on forest material leaves it out; the delivery note says so.",
        recipient=ruling.recipient.name if ruling.recipient else "",
        **told,
    )


def note_text(ruling: Ruling) -> str:
    """What the delivery note says of it."""
    return _(
        "Not intended for forestry purposes (ruling of %(day)s: %(reason)s).",
        day=format_date(ruling.ruled_on),
        reason=ruling.reason,
    )


def _holds(row: Ruling, day: dt.date) -> bool:
    return row.ruled_on <= day and (row.withdrawn_at is None or day < row.withdrawn_at.date())


def _key(of: Site | Recipient) -> Mapping[str, int]:
    return {"site_id" if isinstance(of, Site) else "recipient_id": of.id}
