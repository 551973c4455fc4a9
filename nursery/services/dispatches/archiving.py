"""A cancelled load may be put aside; all others stay in the list, since plants hang on them."""

from __future__ import annotations

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Dispatch
from nursery.models.dispatches import DispatchStatus
from nursery.services import records


def archive_load(session: Session, actor: str, row: Dispatch) -> Dispatch:
    """Put a cancelled load aside."""
    if row.status is not DispatchStatus.CANCELLED:
        raise Invalid(
            {"status": _("Only a cancelled load is archived. Cancel %(load)s first, and say why.", load=row.code)}
        )
    return records.archive(session, actor, row)
