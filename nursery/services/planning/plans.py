"""Making, adopting and finding plans."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Plan, PlanLine
from nursery.models.types import utc_now
from nursery.services import auditing

if TYPE_CHECKING:
    from nursery.planning.plan import PlanResult
    from nursery.planning.plan_allocation import Effort
    from nursery.services.planning.gather import Gathered


@dataclass(frozen=True)
class Reckoned:
    """A plan that is reckoned and not written down; ``result`` is None where a kept plan says the same."""

    gathered: Gathered
    inputs: dict[str, Any]
    mark: str
    result: PlanResult | None


def make_plan(
    session: Session, actor: str, *, today: dt.date, label: str = "", effort: Effort | None = None
) -> Plan:
    """Reckon the plan of ``today`` and keep it; where nothing has changed since, the kept plan is returned."""
    return keep_plan(session, actor, reckon_plan(session, today=today, effort=effort), today=today, label=label)


def reckon_plan(session: Session, *, today: dt.date, effort: Effort | None = None) -> Reckoned:
    """The plan of ``today``; nothing is written, so that a long reckoning keeps nobody else from writing.

    Raises
    ------
    Invalid
        At ``targets`` where there is none.
    """
    # pandas and scipy are needed for reckoning only; the pages start without them.
    from nursery.planning import plan as calculation  # noqa: PLC0415 -- slow import
    from nursery.planning.plan_allocation import Effort  # noqa: PLC0415 -- slow import
    from nursery.services.planning.fingerprint import as_json, fingerprint  # noqa: PLC0415 -- slow import
    from nursery.services.planning.gather import gather  # noqa: PLC0415 -- slow import

    gathered = gather(session, today=today)
    if not len(gathered.lines):
        raise Invalid(
            {"targets": _("There is no target to plan for. Write down first what is to be planted where.")}
        )
    inputs = as_json(gathered.inputs)
    mark = fingerprint(inputs)
    if _kept(session, mark) is not None:
        return Reckoned(gathered, inputs, mark, None)
    return Reckoned(gathered, inputs, mark, calculation.make_plan(gathered.inputs, effort or Effort()))


def keep_plan(session: Session, actor: str, reckoned: Reckoned, *, today: dt.date, label: str = "") -> Plan:
    """Write a reckoned plan down, or return the kept one that says the same."""
    from nursery.planning import plan as calculation  # noqa: PLC0415 -- slow import
    from nursery.services.planning.keep import keep  # noqa: PLC0415 -- slow import

    mark, kept = reckoned.mark, _kept(session, reckoned.mark)
    if kept is not None:
        # Noted, so that changes which do not touch the plan (a remark, say) no longer ask for a new one.
        auditing.record(session, actor, action="made again", row=kept, details={"fingerprint": mark})
        return kept
    if reckoned.result is None:
        raise NotFound(_("The plan that said the same is gone. Make the plan once more."))
    plan = Plan(
        label=label.strip() or _("Plan of %(day)s", day=format_date(today)),
        person=actor,
        as_of=today,
        fingerprint=mark,
        engine_version=calculation.ENGINE,
        inputs=reckoned.inputs,
        is_adopted=False,
    )
    session.add(plan)
    auditing.record(session, actor, action="made", row=plan, details={"label": plan.label, "fingerprint": mark})
    keep(session, plan, reckoned.gathered, reckoned.result)
    return plan


def _kept(session: Session, mark: str) -> Plan | None:
    return session.scalar(select(Plan).where(Plan.fingerprint == mark).order_by(Plan.id.desc()).limit(1))


def adopt_plan(session: Session, actor: str, *, plan_id: int, today: dt.date | None = None) -> Plan:
    """Make a plan the one that is worked by, and its tasks; the plan adopted before stays as it was.

    Left out, ``today`` is the day that the plan was reckoned from.
    """
    from nursery.services.work.syncing import sync_tasks  # noqa: PLC0415 -- slow import

    plan = get_plan(session, plan_id)
    if not plan.is_adopted:
        # Lowered first: the database allows one adopted plan at any moment.
        session.execute(update(Plan).where(Plan.is_adopted).values(is_adopted=False))
        session.flush()
        plan.is_adopted, plan.adopted_at, plan.adopted_by = True, utc_now(), actor
        auditing.record(session, actor, action="adopted", row=plan, details={"label": plan.label})
        session.flush()
        sync_tasks(session, actor, today=today or plan.as_of)
    return plan


def get_plan(session: Session, plan_id: int) -> Plan:
    """One plan, or ``NotFound``."""
    plan = session.get(Plan, plan_id)
    if plan is None:
        raise NotFound(_("There is no such plan."))
    return plan


def get_line(session: Session, line_id: int) -> PlanLine:
    """One line of whichever plan, or ``NotFound``."""
    line = session.get(PlanLine, line_id)
    if line is None:
        raise NotFound(_("There is no such plan line."))
    return line


def current_plan(session: Session) -> Plan | None:
    """The adopted plan; while none is adopted, the newest."""
    return session.scalar(select(Plan).order_by(Plan.is_adopted.desc(), Plan.id.desc()).limit(1))


def newest_plan(session: Session) -> Plan | None:
    """The plan made last."""
    return session.scalar(select(Plan).order_by(Plan.id.desc()).limit(1))


def list_plans(session: Session, limit: int = 200) -> Sequence[Plan]:
    """Plans, the newest first."""
    return session.scalars(select(Plan).order_by(Plan.id.desc()).limit(limit)).all()
