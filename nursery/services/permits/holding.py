"""Checking lots against the permits; holding those that none covers; releasing them for a reason.

While the nursery has written no permit down, nothing is held: lots of earlier years are not judged by rules that
the planner did not know. A lot is checked when it is written down, and again when something changes on which the
answer rests. Permits that are written down or changed later hold nothing by themselves.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import ColumnElement, Table, bindparam, select, update
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Change, Lot
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.permits.accounts import Account, place_of
from nursery.services.permits.books import any_permit, read_book
from nursery.services.permits.covering import Check, Coverage
from nursery.services.permits.overruns import pushed_beyond, remember
from nursery.services.permits.takings import Taking, takings_of

CHECKED, HELD, RELEASED, REPORTED = "checked", "held", "released", "reported"
#: Columns on which the answer rests; what was collected stands in the ledger.
RESTS_ON = frozenset({"species_id", "population_id", "collected_on", "permit_number"})


def check_lots(
    session: Session, actor: str, lot_ids: Iterable[int], *, before: Mapping[int, Account] | None = None
) -> dict[int, Coverage]:
    """Link lots to their permits, and hold those that are not covered; what the permits say, by lot.

    A lot that names no permit is linked to the best one that covers it. Lots are taken in the order of collecting,
    and each counts with those collected before it. What a person put on hold stays there; what she released is
    held again when it is no longer covered, because the reason was given for other facts. Lots collected later
    that were within a cap and no longer are, because one of these came before them, are held too. Where lots that
    count already were changed, ``before`` are the accounts from before that (`overruns.accounts_now`).
    """
    session.flush()
    if not any_permit(session):
        return {}
    lots = sorted(takings_of(session, lot_ids), key=place_of)
    book = read_book(session, species_ids={taking.species_id for taking in lots}, lock=True)
    by_hand = _held_by_hand(session, [taking.lot_id for taking in lots if taking.is_held])
    found: dict[int, Coverage] = {}
    changes: list[dict[str, Any]] = []
    before = remember(book) if before is None else before
    for taking in lots:
        if taking.is_made:
            continue  # its parents were checked, or somebody else collected it
        coverage = found[taking.lot_id] = book.find(taking)
        permit_id = _permit_of(taking, coverage)
        book.note(taking.under(permit_id))
        values = _values(taking, coverage, permit_id, by_hand=taking.lot_id in by_hand)
        if values:
            changes.append({"lot_id": taking.lot_id, **values, "missing": _missing(coverage)})
    later = [taking for taking in pushed_beyond(book, before, found) if not taking.is_held]
    changes += [{"lot_id": taking.lot_id, "is_held": True, "missing": Check.AMOUNT.value} for taking in later]
    _write(session, actor, [*lots, *later], changes)
    return found


def hold_lot(session: Session, actor: str, *, lot: Lot, reason: str) -> Lot:
    """Keep a lot from being sown, whatever the permits say."""
    if lot.is_held:
        raise Conflict(_("%(code)s is on hold already.", code=lot.code))
    reason = _reason(reason, _("Say why the lot is put on hold."))
    lot.is_held, lot.released_at, lot.released_by, lot.release_reason = True, None, "", ""
    auditing.record(
        session, actor, action=HELD, row=lot, details={"is_held": [False, True], "reason": [None, reason]}
    )
    return lot


def release_lot(session: Session, actor: str, *, lot: Lot, reason: str) -> Lot:
    """Let a held lot be sown; who did so and why stays on record."""
    if not lot.is_held:
        raise Conflict(_("%(code)s is not on hold.", code=lot.code))
    reason = _reason(reason, _("Say why the lot may be sown although no permit covers it."))
    lot.is_held, lot.released_at, lot.released_by, lot.release_reason = False, utc_now(), actor, reason
    auditing.record(
        session,
        actor,
        action=RELEASED,
        row=lot,
        details={"is_held": [True, False], "release_reason": [None, reason]},
    )
    return lot


def report_lot(session: Session, actor: str, *, lot: Lot, reported_on: dt.date | None, today: dt.date) -> Lot:
    """Note that the authority was told the quantity of a lot."""
    if reported_on is None:
        raise Invalid({"reported_on": _("Give the day of the report.")})
    if reported_on > today:
        raise Invalid({"reported_on": _("The report would lie in the future. Correct the date.")})
    if reported_on < lot.collected_on:
        raise Invalid(
            {
                "reported_on": _(
                    "The report would be before the collection on %(day)s. Correct the date.",
                    day=format_date(lot.collected_on),
                )
            }
        )
    lot.reported_on = reported_on
    details = auditing.changed_fields(lot)
    if details:
        auditing.record(session, actor, action=REPORTED, row=lot, details=details)
    return lot


def last_hold(session: Session, lot: Lot) -> Change | None:
    """The entry by which a lot was last put on hold, by a person or by the check."""
    return session.scalar(
        select(Change)
        .where(
            Change.subject == Lot.__tablename__, Change.subject_id == lot.id, Change.action.in_((HELD, CHECKED))
        )
        .order_by(Change.id.desc())
        .limit(1)
    )


def _entries(*actions: str) -> tuple[ColumnElement[bool], ...]:
    return Change.subject == Lot.__tablename__, Change.action.in_(actions)


def _reason(text: str, missing: str) -> str:
    text = text.replace("\0", "").strip()
    if not text:
        raise Invalid({"reason": missing})
    if len(text) > 1000:
        raise Invalid({"reason": _("The reason is longer than 1,000 characters. Shorten it.")})
    return text


def _permit_of(taking: Taking, coverage: Coverage) -> int | None:
    """A permit that the lot names counts it, covered or not; one that was only looked for must cover it."""
    if coverage.permit is not None and (taking.permit_number.strip() or coverage.is_covered):
        return coverage.permit.id
    return None


def _values(taking: Taking, coverage: Coverage, permit_id: int | None, *, by_hand: bool) -> dict[str, Any]:
    """Columns that change, with their new values."""
    wanted: dict[str, tuple[Any, Any]] = {
        "permit_id": (taking.permit_id, permit_id),
        "is_held": (taking.is_held, not coverage.is_covered or by_hand),
    }
    if coverage.permit is not None and permit_id is not None:
        wanted["permit_number"] = (taking.permit_number, coverage.permit.number)
    return {name: after for name, (before, after) in wanted.items() if before != after}


def _missing(coverage: Coverage) -> str:
    return ", ".join(answer.check.value for answer in coverage.missing)


def _held_by_hand(session: Session, lot_ids: list[int]) -> set[int]:
    """Lots whose last hold was a person's."""
    rows = session.execute(
        select(Change.subject_id, Change.action)
        .where(*_entries(HELD, RELEASED), Change.subject_id.in_(lot_ids))
        .order_by(Change.id)
    )
    found = {lot_id: action for lot_id, action in rows}  # noqa: C416 -- dict() would ask a Row for its keys
    return {lot_id for lot_id, action in found.items() if action == HELD}


def _write(session: Session, actor: str, lots: Iterable[Taking], changes: list[dict[str, Any]]) -> None:
    """One update and one audit insert, however many lots."""
    if not changes:
        return
    table = Lot.__table__
    if not isinstance(table, Table):  # pragma: no cover -- every model here is a table
        raise TypeError(table)
    before = {taking.lot_id: taking for taking in lots}
    columns = ("permit_id", "permit_number", "is_held", "released_at", "released_by", "release_reason")
    session.connection().execute(
        update(table)
        .where(table.c.id == bindparam("the_id"))
        .values({name: bindparam(f"new_{name}") for name in columns} | {"version": table.c.version + 1}),
        [_row(before[change["lot_id"]], change) for change in changes],
    )
    auditing.record_many(
        session, actor, action=CHECKED, subject=Lot.__tablename__,
        details={change["lot_id"]: _details(before[change["lot_id"]], change) for change in changes},
    )  # fmt: skip
    for change in changes:
        if (row := session.identity_map.get(session.identity_key(Lot, change["lot_id"]))) is not None:
            session.expire(row)


def _row(taking: Taking, change: Mapping[str, Any]) -> dict[str, Any]:
    held = change.get("is_held", taking.is_held)
    return {
        "the_id": taking.lot_id,
        "new_permit_id": change.get("permit_id", taking.permit_id),
        "new_permit_number": change.get("permit_number", taking.permit_number),
        "new_is_held": held,
        "new_released_at": None if held else taking.released_at,
        "new_released_by": "" if held else taking.released_by,
        "new_release_reason": "" if held else taking.release_reason,
    }


def _details(taking: Taking, change: Mapping[str, Any]) -> dict[str, Any]:
    found = {
        name: [getattr(taking, name), change[name]]
        for name in ("permit_id", "permit_number", "is_held")
        if name in change
    }
    return found | ({"missing": [None, change["missing"]]} if change.get("is_held") else {})
