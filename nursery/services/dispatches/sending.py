"""Sending a load, whole or in part; and taking it back where it was written down by mistake."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Dispatch, DispatchLine, Planting
from nursery.models.dispatches import DispatchStatus
from nursery.models.recipients import RecipientKind
from nursery.services.batches.dispatching import dispatch
from nursery.services.batches.reversing import reverse_act
from nursery.services.batches.words import plants_text, trays_text
from nursery.services.dispatches.holding import hold, note, whole
from nursery.services.dispatches.picking import Pick, fetched, pick_list
from nursery.services.dispatches.planning import plan_load
from nursery.services.dispatches.reasons import check_reason
from nursery.services.dispatches.receiving import undo_receipt
from nursery.services.dispatches.sums import line_sums
from nursery.services.dispatches.trays import all_trays, check_trays, keep_trays, settle_line
from nursery.services.dispatches.unpapered import refuse_without_papers
from nursery.services.papers.applying import lacking


class Rest(StrEnum):
    """What becomes of plants that were asked for and did not go."""

    LATER = "later"
    DROP = "drop"


def send(
    session: Session,
    actor: str,
    *,
    load: Dispatch,
    sent_on: dt.date,
    today: dt.date,
    sent: Mapping[int, int] | None = None,
    trays: Mapping[int, int] | None = None,
    rest: Rest = Rest.DROP,
    rest_on: dt.date | None = None,
    reason: str = "",
    version: int | None = None,
) -> Dispatch | None:
    """Send a planned load: every line leaves its batch in an act of its own. Returns the load made of the rest.

    Parameters
    ----------
    sent
        Plants by line id; lines left out go whole.
    trays
        Trays by line id in which they were loaded; lines left out have those of the pick list, or a share of them.
    rest
        Whether what does not go becomes a planned load of ``rest_on`` (the day after today where that is left
        out) or is dropped.
    reason
        Why it goes without a paper that applies; kept on the load.

    Raises
    ------
    Invalid
        At ``sent-<line id>`` for more than was asked or is alive, at ``trays-<line id>`` for trays that cannot
        be, at ``sent_on`` for a day to come or before the batch was sown, at ``reason`` where papers that apply
        are not there and no reason is given.
    Conflict
        Where somebody sent it already, or a batch is in quarantine; nothing is written then.
    """
    check_reason(reason)
    hold(session, load, DispatchStatus.PLANNED, version=version)
    going = {line.id: line.plants if sent is None else sent.get(line.id, line.plants) for line in load.lines}
    _check(load, going, sent_on, today)
    is_part = any(going[line.id] < line.plants for line in load.lines)
    before = _doubted(session, load, sent_on) if is_part and goes_to_others(load) else None
    with whole(session, load):
        for line in load.lines:
            line.sent = going[line.id]
            settle_line(line, (trays or {}).get(line.id))
        keep_trays([line for line in load.lines if line.sent])
        # Papers are asked of what goes: one that says more than that is not true.
        if goes_to_others(load) and not reason.strip():
            refuse_without_papers(lacking(session, load, sent_on), before)
        picks = pick_list(session, load)
        for line in load.lines:
            if line.sent:
                line.act = _leave(session, actor, line, [one for one in picks if one.line is line], sent_on, today)
        load.status, load.sent_on = DispatchStatus.SENT, sent_on
        if reason.strip():
            load.reason = reason.strip()
        told = {"plants": [None, sum(going.values())]}
        if (loaded := all_trays(line.trays for line in load.lines)) is not None:
            told["trays"] = [None, loaded]
        note(session, actor, load, "load sent", told)
        return _rest(session, actor, load, rest, rest_on or today + dt.timedelta(1), today)


def take_back(
    session: Session, actor: str, *, load: Dispatch, reason: str, today: dt.date, version: int | None = None
) -> Dispatch:
    """Take a load back that was sent by mistake of the pen: its acts are reversed and it is planned again.

    Raises
    ------
    Invalid
        Without a reason, or with one too long.
    Conflict
        Where plants of it came back or were planted: those records come first.
    """
    check_reason(reason, _("Write down why the load is taken back."))
    hold(session, load, DispatchStatus.SENT, DispatchStatus.RECEIVED, version=version)
    _refuse_followed(session, load)
    with whole(session, load):
        if load.status is DispatchStatus.RECEIVED:
            undo_receipt(session, actor, load, reason=reason, today=today)
        for line in load.lines:
            if line.act:
                reverse_act(session, actor, act=line.act, reason=reason, today=today)
            if line.sent != line.plants:
                line.trays = None  # they were those of a part
            line.sent, line.act, line.fetched = None, "", []
        load.status, load.sent_on, load.reason = DispatchStatus.PLANNED, None, ""
        note(session, actor, load, "load taken back", {"why": [None, reason.strip()]})
    return load


def write_trays_down(session: Session, actor: str, *, line: DispatchLine, trays: int) -> DispatchLine:
    """In how many trays a line left, of a load that left before trays were kept; the trays of its batch stay.

    Raises
    ------
    Invalid
        At ``trays`` for more than plants, or fewer than hold them.
    Conflict
        Where it is written down already: a wrong number is put right by taking the load back.
    """
    load = hold(session, line.dispatch, DispatchStatus.SENT, DispatchStatus.RECEIVED)
    if line.trays is not None:
        raise Conflict(
            _(
                "%(batch)s went in %(trays)s. If that is wrong, take the load back and send it again as it went.",
                batch=line.batch.code,
                trays=trays_text(line.trays),
            )
        )
    check_trays(line.batch, line.sent or 0, trays, "trays", left=True)
    line.trays = trays
    session.flush()
    note(session, actor, load, "load line", {"trays": [None, trays]})
    return line


def goes_to_others(load: Dispatch) -> bool:
    """Whether the load is handed over to somebody who is not of the house."""
    return load.recipient is not None and load.recipient.kind is not RecipientKind.OWN


def _leave(
    session: Session, actor: str, line: DispatchLine, picks: Sequence[Pick], sent_on: dt.date, today: dt.date
) -> str:
    load = line.dispatch
    line.fetched = fetched(session, line, picks, sent_on)
    try:
        moved = dispatch(
            session, actor, batch=line.batch, site_id=load.site_id, plants=line.sent or 0, happened_on=sent_on,
            today=today, target_id=line.target_id, reason=_("Load %(load)s", load=load.code), trays=line.trays,
            benches={one.bench_id: one.trays or 0 for one in line.fetched if one.bench_id is not None},
        )  # fmt: skip
    except Invalid as refused:  # the form has a field for each line
        raise Invalid(
            {
                {"plants": f"sent-{line.id}", "happened_on": "sent_on"}.get(field, field): text
                for field, text in refused.errors.items()
            }
        ) from refused
    if line.target_id is None:
        line.target_id = moved.target_id
    return moved.act


def _check(load: Dispatch, going: Mapping[int, int], sent_on: dt.date, today: dt.date) -> None:
    refused: dict[str, str] = {}
    for line in load.lines:
        if not 0 <= going[line.id] <= line.plants:
            refused[f"sent-{line.id}"] = _(
                "%(asked)s of %(batch)s were asked for; no more can go. Change the line first.",
                asked=plants_text(line.plants),
                batch=line.batch.code,
            )
    if sent_on > today:
        refused["sent_on"] = _("The day lies in the future. Write it down once the load has gone.")
    if not any(going.values()):
        refused["sent_on"] = _("Nothing would go. Give plants to at least one line, or cancel the load.")
    if refused:
        raise Invalid(refused)


def _doubted(session: Session, load: Dispatch, day: dt.date) -> set[int]:
    """Ids of papers that do not even fit the whole load."""
    return {one.paper.id for one in lacking(session, load, day) if one.paper is not None}


def _rest(
    session: Session, actor: str, load: Dispatch, rest: Rest, day: dt.date, today: dt.date
) -> Dispatch | None:
    """A planned load of what did not go; it asks what the first one asked, substitutes and all."""
    left = [line for line in load.lines if line_sums(line).rest]
    if rest is Rest.DROP or not left:
        return None
    values: dict[str, Any] = {
        "recipient_id": load.recipient_id,
        "notes": _("Rest of %(load)s of %(day)s", load=load.code, day=format_date(load.sent_on)),
    }
    later = plan_load(session, actor, site_id=load.site_id, planned_on=day, today=today, values=values)
    for position, line in enumerate(left, start=1):
        session.add(
            DispatchLine(
                dispatch_id=later.id, position=position, batch_id=line.batch_id, target_id=line.target_id,
                grade=line.grade, plants=line_sums(line).rest, substitutes_id=line.substitutes_id,
                reason=line.reason,
            )
        )  # fmt: skip
    session.flush()
    session.expire(later, ["lines"])
    return later


def _refuse_followed(session: Session, load: Dispatch) -> None:
    if any(not one.is_missing for line in load.lines for one in line.returns):
        raise Conflict(
            _(
                "Plants of %(load)s came back, and that is written down. Take the return back first; the load"
                " follows then.",
                load=load.code,
            )
        )
    ids = [line.id for line in load.lines]
    planted = exists().where(Planting.dispatch_line_id.in_(ids), Planting.archived_at.is_(None))
    if session.scalar(select(planted)):
        raise Conflict(
            _(
                "Plants of %(load)s are written down as planted. Archive those plantings first.",
                load=load.code,
            )
        )
