"""Long plans, reckoned beside the requests: the page that shows how far one is, and where it leads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import current_app, flash, redirect, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.database import writing
from nursery.i18n import gettext as _
from nursery.models import Site, Target
from nursery.services.planning.plans import keep_plan, newest_plan, reckon_plan
from nursery.web.plans.blueprint import bp
from nursery.web.session import actor, db, today
from nursery.web.works import Work, begin_work, progress_page, works

if TYPE_CHECKING:
    from nursery.planning.allocation import Progress

#: Open targets from which on a plan is made beside the request.
LONG = 400
KIND = "plans"


def is_long(session: Session) -> bool:
    """Whether a plan of today takes longer than a request should."""
    open_targets = select(func.count()).select_from(Target).join(Target.site)
    count = session.scalar(open_targets.where(Target.archived_at.is_(None), Site.archived_at.is_(None))) or 0
    most: int = current_app.config.get("NURSERY_LONG_PLAN", LONG)
    return count > most


def begin_plan(label: str) -> ResponseReturnValue:
    """Start a plan beside the request and lead to the page that shows how far it is."""
    sessions, person, day = current_app.extensions["nursery_sessions"], actor(), today()

    def make(work: Work) -> None:
        from nursery.planning.plan_allocation import Effort  # noqa: PLC0415 -- scipy is slow to import

        def report(progress: Progress) -> None:
            work.done, work.parts = progress.parts, progress.all_parts

        with sessions() as reading:
            before = newest_plan(reading)
            reckoned = reckon_plan(reading, today=day, effort=Effort(report=report))
        # Written in a transaction of its own, so that others can write while it is reckoned.
        with writing(sessions) as session, session.begin():
            plan = keep_plan(session, person, reckoned, today=day, label=label)
            session.flush()
            plan_id = plan.id
        work.is_new = before is None or plan_id > before.id
        work.made_id = plan_id

    work, is_own = begin_work(
        KIND, make, failed=_("Something went wrong while the plan was made; nothing was written. Make it again.")
    )
    if not is_own:
        flash(_("A plan is being made already, so no other was begun. This page shows how far it is."), "info")
    return redirect(url_for(".making", token=work.token), 303)


@bp.get("/plans/making/<token>")
def making(token: str) -> ResponseReturnValue:
    """How far a plan is; once it is made, the plan."""
    work = works(KIND).find(token)
    if work is None:
        # The server may have been started anew; what was made by then is in the list.
        flash(
            _("No plan is being made under that address any more. Plans that were made are in this list."), "info"
        )
        return redirect(url_for(".list_page"), 303)
    if work.made_id is not None:
        from nursery.web.plans.pages import tell_made  # noqa: PLC0415 -- the pages start works

        flash(*tell_made(db(), work.made_id, is_new=work.is_new))
        return redirect(url_for(".detail", record_id=work.made_id), 303)
    return progress_page("plans/making.html", work, section="plan")
