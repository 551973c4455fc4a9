"""Long plans, reckoned beside the requests: the page that shows how far one is, and where it leads."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from contextvars import copy_context
from dataclasses import dataclass, field
from secrets import token_urlsafe
from typing import TYPE_CHECKING

from flask import Response, current_app, flash, make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.database import writing
from nursery.errors import NurseryError
from nursery.i18n import gettext as _
from nursery.models import Site, Target
from nursery.services.planning.plans import keep_plan, newest_plan, reckon_plan
from nursery.web.plans.blueprint import bp
from nursery.web.session import actor, db, today

if TYPE_CHECKING:
    from nursery.planning.allocation import Progress

#: Open targets from which on a plan is made beside the request.
LONG = 400
#: Works that are remembered; the oldest are forgotten first.
MOST_KEPT = 20
#: Seconds after which the page looks again.
AGAIN = 2


@dataclass
class Work:
    """One plan in the making."""

    token: str
    done: int = 0
    parts: int = 0
    plan_id: int | None = None
    is_new: bool = False
    #: Why there is no plan, in the words of its maker.
    trouble: str = ""

    @property
    def is_over(self) -> bool:
        """Whether it came to an end, good or bad."""
        return self.plan_id is not None or bool(self.trouble)

    def report(self, progress: Progress) -> None:
        """Note how far sharing the lots out is."""
        self.done, self.parts = progress.parts, progress.all_parts


@dataclass
class Works:
    """Plans in the making in this process, one at a time."""

    kept: OrderedDict[str, Work] = field(default_factory=OrderedDict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def begin(self, run: Callable[[Work], None]) -> tuple[Work, bool]:
        """Start a work in a thread of its own; while one is going on, that one is given, and False beside it."""
        with self.lock:
            going = next((work for work in self.kept.values() if not work.is_over), None)
            if going is not None:
                return going, False
            work = Work(token_urlsafe(12))
            self.kept[work.token] = work
            while len(self.kept) > MOST_KEPT:
                self.kept.popitem(last=False)
        # The language of the person who asked goes along.
        threading.Thread(target=copy_context().run, args=(run, work), daemon=True).start()
        return work, True

    def find(self, token: str) -> Work | None:
        """The work of an address; None for one that nobody gave, or that was forgotten."""
        return self.kept.get(token)


def works() -> Works:
    """The application's own."""
    found: Works = current_app.extensions.setdefault("nursery_works", Works())
    return found


def is_long(session: Session) -> bool:
    """Whether a plan of today takes longer than a request should."""
    open_targets = select(func.count()).select_from(Target).join(Target.site)
    count = session.scalar(open_targets.where(Target.archived_at.is_(None), Site.archived_at.is_(None))) or 0
    most: int = current_app.config.get("NURSERY_LONG_PLAN", LONG)
    return count > most


def begin_plan(label: str) -> ResponseReturnValue:
    """Start a plan beside the request and lead to the page that shows how far it is."""
    sessions, person, day = current_app.extensions["nursery_sessions"], actor(), today()
    logger = current_app.logger

    def run(work: Work) -> None:
        from nursery.planning.plan_allocation import Effort  # noqa: PLC0415 -- scipy is slow to import

        try:
            with sessions() as reading:
                before = newest_plan(reading)
                reckoned = reckon_plan(reading, today=day, effort=Effort(report=work.report))
            # Written in a transaction of its own, so that others can write while it is reckoned.
            with writing(sessions) as session, session.begin():
                plan = keep_plan(session, person, reckoned, today=day, label=label)
                session.flush()
                plan_id = plan.id
            work.is_new = before is None or plan_id > before.id
            work.plan_id = plan_id
        except NurseryError as refused:
            work.trouble = str(refused)
        except Exception:
            logger.exception("A plan could not be made")
            work.trouble = _("Something went wrong while the plan was made; nothing was written. Make it again.")

    work, is_own = works().begin(run)
    if not is_own:
        flash(_("A plan is being made already, so no other was begun. This page shows how far it is."), "info")
    return redirect(url_for(".making", token=work.token), 303)


@bp.get("/plans/making/<token>")
def making(token: str) -> ResponseReturnValue:
    """How far a plan is; once it is made, the plan."""
    work = works().find(token)
    if work is None:
        # The server may have been started anew; what was made by then is in the list.
        flash(
            _("No plan is being made under that address any more. Plans that were made are in this list."), "info"
        )
        return redirect(url_for(".list_page"), 303)
    if work.plan_id is not None:
        from nursery.web.plans.pages import tell_made  # noqa: PLC0415 -- the pages start works

        flash(*tell_made(db(), work.plan_id, is_new=work.is_new))
        return redirect(url_for(".detail", record_id=work.plan_id), 303)
    answer: Response = make_response(render_template("plans/making.html", section="plan", work=work))
    if not work.is_over:
        answer.headers["Refresh"] = str(AGAIN)
    answer.headers["Cache-Control"] = "no-store"
    return answer
