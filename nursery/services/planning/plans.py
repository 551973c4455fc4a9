"""Making, adopting and finding plans."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Plan
from nursery.models.types import utc_now
from nursery.services import auditing


def make_plan(session: Session, actor: str, *, today: dt.date, label: str = "") -> Plan:
    """Reckon the plan of ``today`` and keep it; where nothing has changed since, the kept plan is returned."""
    # pandas and scipy are needed for reckoning only; the pages start without them.
    from nursery.planning import plan as calculation  # noqa: PLC0415 -- slow import
    from nursery.services.planning.fingerprint import as_json, fingerprint  # noqa: PLC0415 -- slow import
    from nursery.services.planning.gather import gather  # noqa: PLC0415 -- slow import
    from nursery.services.planning.keep import keep  # noqa: PLC0415 -- slow import

    gathered = gather(session, today=today)
    if not len(gathered.lines):
        raise Invalid(
            {"targets": _("There is no target to plan for. Write down first what is to be planted where.")}
        )
    inputs = as_json(gathered.inputs)
    mark = fingerprint(inputs)
    kept = session.scalar(select(Plan).where(Plan.fingerprint == mark).order_by(Plan.id.desc()).limit(1))
    if kept is not None:
        # Noted, so that changes which do not touch the plan (a remark, say) no longer ask for a new one.
        auditing.record(session, actor, action="made again", row=kept, details={"fingerprint": mark})
        return kept
    plan = Plan(
        label=label.strip() or _("Plan of %(day)s", day=format_date(today)),
        person=actor,
        as_of=today,
        fingerprint=mark,
        engine_version=calculation.ENGINE,
        inputs=inputs,
        is_adopted=False,
    )
    session.add(plan)
    auditing.record(session, actor, action="made", row=plan, details={"label": plan.label, "fingerprint": mark})
    keep(session, plan, gathered, calculation.make_plan(gathered.inputs))
    return plan


def adopt_plan(session: Session, actor: str, *, plan_id: int) -> Plan:
    """Make a plan the one that is worked by; the plan adopted before stays as it was."""
    plan = get_plan(session, plan_id)
    if not plan.is_adopted:
        # Lowered first: the database allows one adopted plan at any moment.
        session.execute(update(Plan).where(Plan.is_adopted).values(is_adopted=False))
        session.flush()
        plan.is_adopted, plan.adopted_at, plan.adopted_by = True, utc_now(), actor
        auditing.record(session, actor, action="adopted", row=plan, details={"label": plan.label})
        session.flush()
    return plan


def get_plan(session: Session, plan_id: int) -> Plan:
    """One plan, or ``NotFound``."""
    plan = session.get(Plan, plan_id)
    if plan is None:
        raise NotFound(_("There is no such plan."))
    return plan


def current_plan(session: Session) -> Plan | None:
    """The adopted plan; while none is adopted, the newest."""
    return session.scalar(select(Plan).order_by(Plan.is_adopted.desc(), Plan.id.desc()).limit(1))


def newest_plan(session: Session) -> Plan | None:
    """The plan made last."""
    return session.scalar(select(Plan).order_by(Plan.id.desc()).limit(1))


def list_plans(session: Session, limit: int = 200) -> Sequence[Plan]:
    """Plans, the newest first."""
    return session.scalars(select(Plan).order_by(Plan.id.desc()).limit(limit)).all()
