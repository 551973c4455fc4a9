"""How loads and what becomes of their plants are said."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.models.recipients import RecipientKind

STATUS_LABELS = {
    DispatchStatus.PLANNED: _l("Planned"),
    DispatchStatus.SENT: _l("On the road"),
    DispatchStatus.RECEIVED: _l("Taken over"),
    DispatchStatus.CANCELLED: _l("Cancelled"),
}
STATUS_TONES = {
    DispatchStatus.PLANNED: "waiting",
    DispatchStatus.SENT: "info",
    DispatchStatus.RECEIVED: "ok",
    DispatchStatus.CANCELLED: "stop",
}
DECISION_LABELS = {
    ReturnDecision.BACK_IN_STOCK: _l("Back in stock"),
    ReturnDecision.DISCARDED: _l("Discarded"),
}
KIND_LABELS = {
    RecipientKind.OWN: _l("Our own crew"),
    RecipientKind.PROFESSIONAL: _l("Somebody who works with plants"),
    RecipientKind.FINAL_USER: _l("Somebody who plants for themselves"),
}
