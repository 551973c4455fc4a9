"""Plants that come back stand apart until somebody decides; nothing joins the stock again by itself."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import DispatchLine, ReturnedPlants
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.services.batches.words import plants_text, trays_text
from nursery.services.dispatches.holding import hold, note, whole
from nursery.services.dispatches.reasons import MOST_REASON, check_reason, long_reason
from nursery.services.dispatches.settling import come_back, come_back_and_be_lost, take_settled_back
from nursery.services.dispatches.sums import line_sums
from nursery.services.dispatches.trays import trays_back, trays_out
from nursery.services.dispatches.words import DECISION_LABELS
from nursery.services.work.following import note_batch


def note_return(
    session: Session,
    actor: str,
    *,
    line: DispatchLine,
    plants: int,
    returned_on: dt.date,
    today: dt.date,
    condition: str = "",
    trays: int | None = None,
) -> ReturnedPlants:
    """Write down that plants of a line came back: they are no longer at the site, and not yet in stock.

    ``trays`` left out are in proportion to those in which the line left.

    Raises
    ------
    Invalid
        At ``plants`` for none or more than are at the site, at ``returned_on`` for a day to come or before the
        load was sent, at ``trays`` for more than left, at ``condition`` for a text too long to be read in a list.
    Conflict
        For a load that was not sent.
    """
    load = hold(session, line.dispatch, DispatchStatus.SENT, DispatchStatus.RECEIVED)
    there = line_sums(line).at_site
    refused = {}
    if not 1 <= plants <= there:
        refused["plants"] = _(
            "Of %(batch)s, %(there)s went to %(site)s; no more can come back.",
            batch=line.batch.code,
            there=plants_text(there),
            site=load.site.name,
        )
    if returned_on > today:
        refused["returned_on"] = _("The day lies in the future. Write it down once it has happened.")
    elif load.sent_on is not None and returned_on < load.sent_on:
        refused["returned_on"] = _(
            "The load was sent on %(day)s and cannot have come back before.", day=format_date(load.sent_on)
        )
    if len(condition.strip()) > MOST_REASON:
        refused["condition"] = _("The text is longer than %(most)s characters. Shorten it.", most=MOST_REASON)
    most = min(trays_out(line), plants)
    if trays is not None and not 0 <= trays <= most:
        refused["trays"] = _(
            "No more than %(most)s of %(batch)s can have come back with these plants. Give from 0 to that.",
            most=trays_text(most),
            batch=line.batch.code,
        )
    if refused:
        raise Invalid(refused)
    with whole(session, load):
        row = ReturnedPlants(
            line_id=line.id, plants=plants, returned_on=returned_on, condition=condition.strip(), person=actor,
            trays=trays_back(line, plants) if trays is None else trays,
        )  # fmt: skip
        session.add(row)
        session.flush()
        session.expire(line, ["returns"])
        note(session, actor, load, "plants returned", {line.batch.code: [None, plants]})
        _follow(session, actor, line, today)
    return row


def decide(
    session: Session,
    actor: str,
    *,
    row: ReturnedPlants,
    decision: ReturnDecision,
    reason: str,
    decided_on: dt.date,
    today: dt.date,
) -> ReturnedPlants:
    """Decide what becomes of plants that came back: back in stock, or discarded. The ledger follows.

    Raises
    ------
    Invalid
        At ``reason`` without one or one too long, at ``decided_on`` for a day to come or before they came back, at
        ``decision`` where their batch is archived.
    Conflict
        Where somebody decided already.
    """
    load = hold(session, row.line.dispatch, DispatchStatus.SENT, DispatchStatus.RECEIVED)
    session.refresh(row, with_for_update={"of": ReturnedPlants})
    if row.decision is not None:
        raise Conflict(
            _(
                "%(person)s decided already: %(decision)s. Take that decision back first.",
                person=row.decided_by,
                decision=DECISION_LABELS[row.decision],
            )
        )
    _check(row, decision, reason, decided_on, today)
    line = row.line
    with whole(session, load):
        row.decision, row.decided_on, row.decided_by = decision, decided_on, actor
        row.decided_reason = reason.strip()
        session.flush()  # from here on they no longer stand apart
        settle = come_back if decision is ReturnDecision.BACK_IN_STOCK else come_back_and_be_lost
        row.act = settle(session, actor, row, happened_on=decided_on, today=today, reason=reason.strip())
        details = {line.batch.code: [None, row.plants], "decision": [None, decision.value]}
        note(session, actor, load, "return decided", {**details, "reason": [None, reason.strip()]})
    return row


def undo_decision(
    session: Session, actor: str, *, row: ReturnedPlants, reason: str, today: dt.date
) -> ReturnedPlants:
    """A decision was wrong: the plants stand apart again, where they are still there."""
    check_reason(reason, _("Write down why the decision is taken back."))
    load = hold(session, row.line.dispatch, DispatchStatus.SENT, DispatchStatus.RECEIVED)
    session.refresh(row, with_for_update={"of": ReturnedPlants})
    if row.decision is None or row.is_missing:
        raise Conflict(_("Nothing was decided about these plants."))
    with whole(session, load):
        take_settled_back(session, actor, row, reason=reason, today=today)
        row.decision, row.decided_on, row.decided_by, row.decided_reason, row.act = None, None, "", "", ""
        note(session, actor, load, "decision taken back", {"why": [None, reason.strip()]})
        _follow(session, actor, row.line, today)
    return row


def withdraw_return(session: Session, actor: str, *, row: ReturnedPlants, today: dt.date) -> None:
    """They never came back: a return that nobody decided about is struck out; the history keeps it."""
    line = row.line
    load = hold(session, line.dispatch, DispatchStatus.SENT, DispatchStatus.RECEIVED)
    session.refresh(row, with_for_update={"of": ReturnedPlants})
    if row.decision is not None:
        raise Conflict(_("It was decided what becomes of these plants. Take that decision back first."))
    with whole(session, load):
        details = {line.batch.code: [row.plants, None]}
        session.delete(row)
        session.flush()
        session.expire(line, ["returns"])
        note(session, actor, load, "return struck out", details)
        _follow(session, actor, line, today)


def _follow(session: Session, actor: str, line: DispatchLine, today: dt.date) -> None:
    """The task of sending plants out counts what stands at the site."""
    note_batch(session, actor, batch=line.batch, today=today)


def _check(row: ReturnedPlants, decision: ReturnDecision, reason: str, day: dt.date, today: dt.date) -> None:
    refused = {}
    if not reason.strip():
        refused["reason"] = _("Write down why: who looked at them, and what was found.")
    elif (told := long_reason(reason)) is not None:
        refused["reason"] = told
    if day > today:
        refused["decided_on"] = _("The day lies in the future. Write it down once it is decided.")
    elif day < row.returned_on:
        refused["decided_on"] = _(
            "They came back on %(day)s; nothing was decided before.", day=format_date(row.returned_on)
        )
    if decision is ReturnDecision.BACK_IN_STOCK and row.line.batch.archived_at is not None:
        refused["decision"] = _(
            "%(batch)s is archived. Bring the batch back first, or discard the plants.", batch=row.line.batch.code
        )
    if refused:
        raise Invalid(refused)
