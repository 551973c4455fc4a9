"""What people decided about a plan's lots, for every report that shows a draw."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Decision, Draw, Plan
from nursery.models.decisions import DecisionKind


def decisions_of(session: Session, draws: Iterable[Draw]) -> dict[int, Decision]:
    """The decision that each draw follows by the draw's id, in one query; draws that follow none are left out."""
    followed = {draw.id: draw.decision_id for draw in draws if draw.decision_id is not None}
    if not followed:
        return {}
    found = {
        row.id: row for row in session.scalars(select(Decision).where(Decision.id.in_(set(followed.values()))))
    }
    return {draw_id: found[decision_id] for draw_id, decision_id in followed.items()}


def decisions_heeded(session: Session, plan: Plan) -> Sequence[Decision]:
    """Decisions that stood when the plan was made and concern its lots and sites, oldest first; in one query."""
    heeded = (plan.allocation or {}).get("decisions", [])
    if not heeded:
        return []
    return session.scalars(
        select(Decision)
        .where(Decision.id.in_(heeded))
        .options(joinedload(Decision.lot), joinedload(Decision.site), joinedload(Decision.target))
        .order_by(Decision.id)
    ).all()


def tell_decision(decision: Decision) -> str:
    """What was decided, by whom, when and why, in one sentence."""
    sentences = {
        DecisionKind.PIN: _("Pinned by %(person)s on %(day)s: %(reason)s", **_words(decision)),
        DecisionKind.FORBID: _("Forbidden by %(person)s on %(day)s: %(reason)s", **_words(decision)),
        DecisionKind.OVERRIDE: _(
            "Allowed despite a stop by %(person)s on %(day)s: %(reason)s", **_words(decision)
        ),
    }
    return sentences[decision.kind]


def decision_as_data(decision: Decision | None) -> dict[str, Any] | None:
    """The same in plain values."""
    if decision is None:
        return None
    return {
        "kind": decision.kind.value,
        "person": decision.person,
        "on": decision.at.date().isoformat(),
        "reason": decision.reason,
    }


def _words(decision: Decision) -> Mapping[str, str]:
    return {
        "person": decision.person,
        "day": format_date(decision.at.date()),
        "reason": decision.reason,
    }
