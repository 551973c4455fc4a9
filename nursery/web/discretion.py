"""What is shown to who may not see private data: sensitive places rounded, no names of people in the field."""

from __future__ import annotations

from nursery.models import Population
from nursery.planning.generalising import Told
from nursery.services.accounts.rights import Right
from nursery.services.exchange.selecting import told_place
from nursery.web.access import acting


def sees_private() -> bool:
    """Whether the person may see private data."""
    who = acting()
    return who is not None and Right.SEE_PRIVATE in who.rights


def shown_place(stand: Population) -> Told:
    """Where a stand is, as exactly as the person may know."""
    return Told(stand.latitude, stand.longitude, None) if sees_private() else told_place(stand)


def shown_elevation(stand: Population) -> float | None:
    """How high a stand is; for a sensitive place it would help to find it."""
    return stand.elevation_m if sees_private() or not stand.is_sensitive else None


def shown_people(names: str) -> str:
    """Who was in the field."""
    return names if sees_private() else ""
