"""What happened to how somebody signs in, told to them the next time they do: there is no e-mail to tell it by."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.i18n import format_moment
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Account, Change

#: What is told, by action; it stands on record as well.
_TOLD = {
    "new password": _l("The password of your account was changed."),
    "link made": _l("A link was made by which the password of your account can be set."),
    "second factor on": _l("The second factor of your account was switched on."),
    "second factor off": _l("The second factor of your account was switched off."),
    "token made": _l("A token was made with which a program can act for you."),
    "changed": _l("The name, e-mail address, roles or nursery of your account were changed."),
}


def news_of(session: Session, account: Account) -> list[str]:
    """What was changed since the account last signed in, each with its moment and who did it."""
    own = (Change.subject == Account.__tablename__, Change.subject_id == account.id)
    last = session.scalar(select(func.max(Change.id)).where(*own, Change.action == "signed in"))
    if last is None:
        return []
    found = session.execute(
        select(Change.action, Change.at, Change.person)
        .where(*own, Change.id > last, Change.action.in_(_TOLD))
        .order_by(Change.id)
    )
    return [
        _(
            "%(what)s On %(moment)s, by %(person)s.",
            what=str(_TOLD[action]),
            moment=format_moment(at),
            person=person,
        )
        for action, at, person in found
    ]
