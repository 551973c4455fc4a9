"""Writing a survey down, and letting a wrong one stand no longer."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Survey, SurveyCount, SurveyPlot
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.surveys.checking import Counted, check_survey
from nursery.services.surveys.handing import take_back_counts
from nursery.services.surveys.planted import Planted, read_planted
from nursery.services.surveys.teaching import forget, teach
from nursery.services.work.surveying import note_surveyed

MOST_REASON = 500


def record_survey(
    session: Session,
    actor: str,
    *,
    plot: SurveyPlot,
    values: Mapping[str, Any],
    counts: Sequence[Counted],
    today: dt.date,
) -> Survey:
    """Write down what lives in a plot; it teaches the rates and does the task that asked for it.

    ``values`` holds ``season, year, surveyed_on`` and, where given, ``person`` and ``notes``. Rows in which
    nothing was counted are left out.

    Raises
    ------
    Invalid
        By field, and by ``counts-ROW-field``.
    """
    given = [count for count in counts if not count.is_blank]
    planted = planted_there(session, plot, values["season"])
    check_survey(session, plot, values, given, planted, today)
    survey = Survey(
        plot_id=plot.id,
        plot=plot,
        season=values["season"],
        year=values["year"],
        surveyed_on=values["surveyed_on"],
        person=(values.get("person") or actor)[:80],
        notes=(values.get("notes") or "").strip(),
        counts=[_row(count, planted) for count in given],
    )
    session.add(survey)
    auditing.record(session, actor, action="surveyed", row=survey, details={})
    session.flush()
    teach(session, actor, survey, planted, today)
    session.flush()
    note_surveyed(session, actor, site_id=plot.site_id, season=survey.season, year=survey.year)
    return survey


def withdraw_survey(session: Session, actor: str, *, survey: Survey, reason: str, today: dt.date) -> Survey:
    """Let a survey stand no longer: what it taught is forgotten, its replacements are taken back, the row stays.

    Raises
    ------
    Invalid
        Without a reason.
    Conflict
        When it is withdrawn already.
    """
    reason = reason.strip()
    if not reason:
        raise Invalid({"reason": _("Say why the survey should not stand, such as a slip when it was typed.")})
    if len(reason) > MOST_REASON:
        told = _("The reason has %(long)s characters; at most %(most)s fit. Shorten it.")
        raise Invalid({"reason": told % {"long": len(reason), "most": MOST_REASON}})
    if survey.withdrawn_at is not None:
        raise Conflict(_("This survey has been withdrawn already."))
    survey.withdrawn_at, survey.withdrawn_by, survey.withdrawn_reason = utc_now(), actor, reason
    auditing.record(session, actor, action="survey withdrawn", row=survey, details={"reason": [None, reason]})
    forget(session, actor, survey, reason)
    take_back_counts(session, actor, counts=survey.counts, today=today)
    session.flush()
    note_surveyed(session, actor, site_id=survey.plot.site_id, season=survey.season, year=survey.year)
    return survey


def planted_there(session: Session, plot: SurveyPlot, season: int) -> dict[int, Planted]:
    """By species, what was first planted at the plot's site in a season."""
    found = read_planted(session, site_ids=[plot.site_id])
    return {species: one for (_site, planted_in, species), one in found.items() if planted_in == season}


def _row(count: Counted, planted: Mapping[int, Planted]) -> SurveyCount:
    there = planted.get(count.species_id or 0)
    lots = there.lots if there is not None else {}
    return SurveyCount(
        species_id=count.species_id,
        lot_id=next(iter(lots)) if len(lots) == 1 else None,
        planted=count.planted,
        alive=count.alive,
        causes={name: plants for name, plants in count.causes.items() if plants},
        replacements_alive=count.replacements_alive,
    )
