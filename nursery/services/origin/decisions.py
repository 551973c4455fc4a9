"""What people decide against or beside the rules: who, why and when stay on record, also once it is withdrawn."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session, joinedload

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Decision, Lot, Site, Target
from nursery.models.decisions import DecisionKind
from nursery.models.types import utc_now
from nursery.planning.origin.words import Rule, Verdict
from nursery.services import auditing, limits
from nursery.services.origin.verdicts import judge_pair
from nursery.services.origin.words import rule_label

#: Stops that no person can wave through here: another species is another plant, and a hold has its own release.
_NOT_HERE = {Rule.SPECIES.value, Rule.PERMIT.value}


def standing(session: Session, *, lot_id: int | None = None, site_id: int | None = None) -> Sequence[Decision]:
    """Decisions in force, oldest first; of one lot or one site where asked."""
    query = select(Decision).where(Decision.withdrawn_at.is_(None)).order_by(Decision.id)
    if lot_id is not None:
        query = query.where(Decision.lot_id == lot_id)
    if site_id is not None:
        query = query.where(Decision.site_id == site_id)
    return session.scalars(query).all()


def list_decisions(session: Session, *, lot_id: int, site_id: int) -> Sequence[Decision]:
    """All that was ever decided about a lot at a site, newest first."""
    return session.scalars(
        select(Decision)
        .where(Decision.lot_id == lot_id, Decision.site_id == site_id)
        .options(joinedload(Decision.target))
        .order_by(Decision.id.desc())
    ).all()


def decide(
    session: Session, actor: str, *, kind: DecisionKind, lot: Lot, site: Site, reason: str, today: dt.date,
    target: Target | None = None, plants: int | None = None,
) -> Decision:  # fmt: skip
    """Pin a lot to a target, forbid it at a site, or allow it despite a stop.

    Raises
    ------
    Invalid
        At ``reason``, ``kind``, ``target_id`` or ``plants``.
    """
    refused = _refuse(session, kind, lot, site, target, plants, today)
    if not reason.strip():
        refused["reason"] = _("A decision needs a reason: every report shows it. Write why.")
    if refused:
        raise Invalid(refused)
    row = Decision(
        kind=kind, lot_id=lot.id, site_id=site.id, target_id=target.id if target else None, plants=plants,
        reason=reason.strip(), person=actor,
    )  # fmt: skip
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError as clash:  # the database lets one of a kind stand
        raise Conflict(_("Somebody decided the same at this moment. Look at the decisions again.")) from clash
    details = {
        name: [None, value]
        for name, value in (
            ("kind", kind.value), ("lot", lot.code), ("site", site.code),
            ("target_id", target.id if target else None), ("plants", plants), ("reason", reason.strip()),
        )
        if value is not None
    }  # fmt: skip
    auditing.record(session, actor, action="decided", row=row, details=details)
    return row


def withdraw(session: Session, actor: str, *, decision_id: int, reason: str) -> Decision:
    """Take a decision back; it stays readable with both reasons."""
    row = session.get(Decision, decision_id)
    if row is None:
        raise NotFound(_("There is no such decision."))
    if row.withdrawn_at is not None:
        raise Conflict(_("This decision was withdrawn already, by %(person)s.", person=row.withdrawn_by))
    if not reason.strip():
        raise Invalid({"reason": _("Withdrawing needs a reason too: every report shows it. Write why.")})
    row.withdrawn_at, row.withdrawn_by, row.withdrawal = utc_now(), actor, reason.strip()
    auditing.record(session, actor, action="withdrawn", row=row, details={"reason": [None, reason.strip()]})
    return row


def _refuse(
    session: Session, kind: DecisionKind, lot: Lot, site: Site, target: Target | None, plants: int | None,
    today: dt.date,
) -> dict[str, str]:  # fmt: skip
    if lot.archived_at is not None or site.archived_at is not None:
        name = lot.code if lot.archived_at is not None else site.code
        return {"kind": _("%(name)s is archived. Bring it back before deciding about it.", name=name)}
    stands = {(row.kind, row.target_id): row for row in standing(session, lot_id=lot.id, site_id=site.id)}
    if (kind, target.id if target else None) in stands:
        return {"kind": _("This is decided already. Withdraw that decision first to write another reason.")}
    kinds = {each for each, _target in stands}
    if told := _contradicted(kind, kinds):
        return {"kind": told}
    if kind is DecisionKind.PIN:
        return _refuse_pin(session, lot, site, target, plants, today, overridden=DecisionKind.OVERRIDE in kinds)
    if target is not None or plants is not None:
        return {"target_id": _("Only a pin names a target and plants. Leave them out.")}
    return _refuse_override(session, lot, site, today) if kind is DecisionKind.OVERRIDE else {}


def _contradicted(kind: DecisionKind, kinds: set[DecisionKind]) -> str:
    """Which standing decision a new one would contradict."""
    if kind is DecisionKind.FORBID and kinds:
        return _("The lot is pinned or allowed here. Withdraw that decision before forbidding it.")
    if kind is not DecisionKind.FORBID and DecisionKind.FORBID in kinds:
        return _("The lot is forbidden here. Withdraw that decision first.")
    return ""


def _refuse_override(session: Session, lot: Lot, site: Site, today: dt.date) -> dict[str, str]:
    judged = judge_pair(session, lot_id=lot.id, site_id=site.id, today=today)
    if judged.verdict is not Verdict.STOP:
        return {"kind": _("The rules do not stop this lot here, so there is nothing to override.")}
    stops = [reason["rule"] for reason in judged.reasons if reason["verdict"] == Verdict.STOP]
    fixed = [rule_label(rule) for rule in stops if rule in _NOT_HERE]
    if fixed:
        return {
            "kind": _(
                "%(rules)s cannot be overridden here. A lot on hold is released on its own page.",
                rules=", ".join(fixed),
            )
        }
    return {}


def _refuse_pin(
    session: Session, lot: Lot, site: Site, target: Target | None, plants: int | None, today: dt.date, *,
    overridden: bool,
) -> dict[str, str]:  # fmt: skip
    if target is None or target.site_id != site.id or target.archived_at is not None:
        return {"target_id": _("A pin is of one open target of this site. Choose it.")}
    if target.species_id != lot.species_id:
        return {"target_id": _("The target wants another species than the lot is of. Choose another target.")}
    if plants is not None and (refusal := limits.PLANTS.refusal(plants)):
        return {"plants": refusal}
    judged = judge_pair(session, lot_id=lot.id, site_id=site.id, today=today)
    if judged.verdict is Verdict.STOP and not overridden:
        return {
            "kind": _("The rules stop this lot here. Allow it despite the stop first, with a reason; then pin it.")
        }
    return {}
