"""Planning a load: which site, which day, and which plants of which batch for which target."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, Dispatch, DispatchLine, Recipient, Site, Target
from nursery.models.dispatches import DispatchStatus
from nursery.services import records
from nursery.services.batches.moving import MOST
from nursery.services.batches.words import plants_text
from nursery.services.codes import next_code
from nursery.services.dispatches.holding import hold, note, whole
from nursery.services.dispatches.judging import judge_batches
from nursery.services.dispatches.reasons import check_reason
from nursery.services.dispatches.reserving import reserved
from nursery.services.dispatches.trays import check_trays, trays_by_line

#: Columns of a planned load that a person may change.
CHANGED = ("planned_on", "recipient_id", "vehicle", "driver", "notes")

#: Days that a load is planned for: none before this one, and none more than two years ahead.
_FIRST, _AHEAD = dt.date(2000, 1, 1), 731


def plan_load(
    session: Session,
    actor: str,
    *,
    site_id: int,
    planned_on: dt.date,
    today: dt.date,
    values: Mapping[str, Any] | None = None,
    lines: Sequence[Mapping[str, Any]] = (),
) -> Dispatch:
    """Plan a load; who takes it over follows from the site unless ``values`` names somebody.

    Raises
    ------
    Invalid
        At ``site_id`` for an archived site, at ``planned_on`` for a day that no load is planned for, and for
        lines as `add_line` does.
    """
    site = records.get(session, Site, site_id)
    if site.archived_at is not None:
        raise Invalid({"site_id": _("“%(site)s” is archived. Bring it back first.", site=site.name)})
    given = {name: value for name, value in (values or {}).items() if name in CHANGED}
    given.setdefault("recipient_id", site.recipient_id)
    check_day(planned_on, today)
    _check_recipient(session, given)
    fresh = {
        **given, "code": next_code(session, Dispatch.code, f"L{planned_on:%y}-"), "site_id": site.id,
        "planned_on": planned_on, "status": DispatchStatus.PLANNED,
    }  # fmt: skip
    with session.begin_nested():
        load = records.create(session, actor, Dispatch, fresh)
        for line in lines:
            add_line(session, actor, load=load, today=today, **line)
    return load


def change_load(
    session: Session,
    actor: str,
    *,
    load: Dispatch,
    values: Mapping[str, Any],
    today: dt.date,
    version: int | None = None,
) -> Dispatch:
    """Change day, recipient, vehicle, driver and notes of a load; the day only while it is planned."""
    hold(session, load, DispatchStatus.PLANNED, DispatchStatus.SENT, version=version)
    given = {name: value for name, value in values.items() if name in CHANGED}
    if load.status is DispatchStatus.SENT:
        given.pop("planned_on", None)
    if given.get("planned_on", load.planned_on) != load.planned_on:
        check_day(given["planned_on"], today)
    _check_recipient(session, given)
    return records.update(session, actor, load, given)


def add_line(
    session: Session,
    actor: str,
    *,
    load: Dispatch,
    batch_id: int,
    plants: int,
    today: dt.date,
    target_id: int | None = None,
    grade: str = "",
) -> DispatchLine:
    """Plants of a batch join a planned load, to be loaded last.

    Raises
    ------
    Invalid
        At ``batch_id`` for a batch that has nothing alive, is in the load already, or whose seed the rules of
        origin keep from the site; at ``plants`` for none; at ``target_id`` for one of another site or species.
    Conflict
        For a load that is no longer planned.
    """
    hold(session, load, DispatchStatus.PLANNED)
    batch = records.get(session, Batch, batch_id)
    target_id = target_at(session, batch, load.site, target_id)
    check_plants(plants)
    refuse_empty(batch)
    refuse_twice(load, batch, target_id)
    refuse_stopped(session, batch, load.site, today)
    line = DispatchLine(
        dispatch_id=load.id, position=1 + max((one.position for one in load.lines), default=0), batch_id=batch.id,
        target_id=target_id, grade=grade.strip()[:20], plants=plants,
    )  # fmt: skip
    session.add(line)
    session.flush()
    session.expire(load, ["lines"])
    note(session, actor, load, "load line", {batch.code: [None, plants]})
    return line


def change_line(
    session: Session, actor: str, *, line: DispatchLine, plants: int, grade: str | None = None,
    trays: int | None = None,
) -> DispatchLine:  # fmt: skip
    """Ask for more or fewer plants of a batch, for another size, or for other trays than they stand in on average.

    Trays left out stay, or follow where the plants change.
    """
    load = hold(session, line.dispatch, DispatchStatus.PLANNED)
    check_plants(plants)
    if trays is not None:
        check_trays(line.batch, plants, trays, "trays")
    before, stood = line.plants, trays_by_line(load.lines)[line.id]
    line.plants = plants
    if trays is not None or plants != before:
        line.trays = trays
    if grade is not None:
        line.grade = grade.strip()[:20]
    session.flush()
    stand = trays_by_line(load.lines)[line.id]
    changed = {"trays": [stood, stand]} if stand != stood else {}
    note(session, actor, load, "load line", {line.batch.code: [before, plants], **changed})
    return line


def remove_line(session: Session, actor: str, *, line: DispatchLine) -> Dispatch:
    """Take a batch out of a planned load."""
    load = hold(session, line.dispatch, DispatchStatus.PLANNED)
    details = {line.batch.code: [line.plants, None]}
    session.delete(line)
    session.flush()
    session.expire(load, ["lines"])
    note(session, actor, load, "load line", details)
    return load


def move_line(session: Session, actor: str, *, line: DispatchLine, earlier: bool) -> Dispatch:
    """Load a line one place earlier or later; what is loaded last is planted first."""
    load = hold(session, line.dispatch, DispatchStatus.PLANNED)
    rows = list(load.lines)
    at = rows.index(line)
    to = at - 1 if earlier else at + 1
    if 0 <= to < len(rows):
        rows[at], rows[to] = rows[to], rows[at]
    for position, row in enumerate(rows, start=1):
        row.position = position
    session.flush()
    session.expire(load, ["lines"])
    note(session, actor, load, "load order")
    return load


def cancel_load(
    session: Session, actor: str, *, load: Dispatch, reason: str, version: int | None = None
) -> Dispatch:
    """Cancel a planned load; its plants are free again."""
    check_reason(reason, _("Write down why the load is cancelled."))
    hold(session, load, DispatchStatus.PLANNED, version=version)
    with whole(session, load):
        load.status, load.reason = DispatchStatus.CANCELLED, reason.strip()
        note(session, actor, load, "load cancelled")
    return load


def overbooked(session: Session, load: Dispatch) -> list[tuple[Batch, int]]:
    """Batches of a planned load from which all planned loads ask more than is alive, and what they ask in all."""
    if load.status is not DispatchStatus.PLANNED:
        return []
    asked = reserved(session, {line.batch_id for line in load.lines})
    batches = {line.batch_id: line.batch for line in load.lines}
    return [(batch, asked[key]) for key, batch in batches.items() if asked.get(key, 0) > batch.alive]


def target_at(session: Session, batch: Batch, site: Site, target_id: int | None) -> int | None:
    """The target named, else the one the batch was sown for where that is at this site."""
    if target_id is None:
        own = batch.target
        return own.id if own is not None and own.site_id == site.id else None
    target = records.get(session, Target, target_id)
    if target.site_id != site.id or target.species_id != batch.species_id:
        raise Invalid(
            {"target_id": _("That target is of another site or species. Choose one of %(site)s.", site=site.name)}
        )
    return target.id


def check_day(day: dt.date, today: dt.date) -> None:
    """A day that a load can be planned for: further off it is a slip of the pen."""
    last = today + dt.timedelta(_AHEAD)
    if not _FIRST <= day <= last:
        told = _(
            "%(day)s is out of range. Give a day from %(first)s to %(last)s.",
            day=format_date(day),
            first=format_date(_FIRST),
            last=format_date(last),
        )
        raise Invalid({"planned_on": told})


def check_plants(plants: int, field: str = "plants") -> None:
    """A number of plants that a load can ask for."""
    if not 1 <= plants <= MOST:
        raise Invalid({field: _("Give a number of plants from 1 to %(most)s.", most=plants_text(MOST))})


def refuse_empty(batch: Batch) -> None:
    """A batch without plants has none to give."""
    if batch.archived_at is not None or not batch.alive:
        raise Invalid({"batch_id": _("%(batch)s has no plant alive. Choose another batch.", batch=batch.code)})


def refuse_twice(load: Dispatch, batch: Batch, target_id: int | None, line: DispatchLine | None = None) -> None:
    """One line for each batch and target, so that nobody picks the same plants twice."""
    if any(one.batch_id == batch.id and one.target_id == target_id and one is not line for one in load.lines):
        raise Invalid(
            {
                "batch_id": _(
                    "%(batch)s is in %(load)s already. Change the number of plants there.",
                    batch=batch.code,
                    load=load.code,
                )
            }
        )


def refuse_stopped(session: Session, batch: Batch, site: Site, today: dt.date) -> None:
    """Seed that the rules of origin keep from a site is not planned for it."""
    judged = judge_batches(session, [batch.id], site.id, today=today)[batch.id]
    if not judged.allowed:
        raise Invalid(
            {
                "batch_id": _(
                    "By the rules of origin %(batch)s is not for %(site)s: %(reason)s. Choose another batch; if it"
                    " should go there all the same, decide so first on the origin page of the lot and the site.",
                    batch=batch.code,
                    site=site.name,
                    reason=judged.reason,
                )
            }
        )


def _check_recipient(session: Session, values: Mapping[str, Any]) -> None:
    if (recipient_id := values.get("recipient_id")) is not None:
        records.get(session, Recipient, recipient_id)
