"""Looking a database over: each check gives a sentence for each fault that it finds."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence

from sqlalchemy import ColumnElement, ForeignKeyConstraint, and_, exists, func, or_, select, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session, aliased

from nursery.faults import Fault, fault_of
from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.models import Attachment, Base, Movement, PlantMovement
from nursery.services.auditing import broken_seals
from nursery.services.batches.checking import wrong_plant_balances
from nursery.services.ledger import wrong_balances
from nursery.services.safekeeping.schema_checks import missing_guards, missing_parts, other_rules, unknown_revision

Check = Callable[[Session], list[str]]


def find_faults(session: Session) -> list[str]:
    """Every fault of the database.

    Where its file is damaged, or parts of this version are not there, only that: nothing else could be asked.
    """
    unfit = damaged_file(session) or unknown_revision(session) or missing_parts(session)
    return unfit or [fault for check in CHECKS for fault in check(session)]


def damaged_file(session: Session) -> list[str]:
    """What SQLite finds in its own file; a server looks after its files itself."""
    if session.get_bind().dialect.name != "sqlite":
        return []
    try:
        found = session.scalars(text("PRAGMA integrity_check")).all()
    except DatabaseError as error:  # too damaged even to be looked through
        if fault_of(error) is not Fault.DAMAGED:
            raise
        session.rollback()
        found = [str(error.orig)]
    return [_("The database's file is damaged: %(reason)s", reason=reason) for reason in found if reason != "ok"]


def broken_references(session: Session) -> list[str]:
    """Rows that point at a record which is not there; each reference is counted in one query."""
    found = []
    for table in Base.metadata.sorted_tables:
        for constraint in sorted(table.foreign_key_constraints, key=lambda one: list(one.column_keys)):
            count = session.scalar(select(func.count()).select_from(table).where(_points_nowhere(constraint)))
            if count:
                found.append(
                    ngettext(
                        "%(num)s row of %(table)s points at a missing row of %(other)s (%(column)s).",
                        "%(num)s rows of %(table)s point at missing rows of %(other)s (%(column)s).",
                        count,
                        table=table.name,
                        other=constraint.referred_table.name,
                        column=", ".join(constraint.column_keys),
                    )
                )
    return found


def _points_nowhere(constraint: ForeignKeyConstraint) -> ColumnElement[bool]:
    other = constraint.referred_table.alias()
    pairs = [(element.parent, other.c[element.column.name]) for element in constraint.elements]
    there = exists().where(and_(*(mine == theirs for mine, theirs in pairs)))
    return and_(*(mine.is_not(None) for mine, _theirs in pairs), ~there)


def lost_attachments(session: Session) -> list[str]:
    """Files whose record is not there: they hang on it by its table's name and its id."""
    found = []
    for subject in session.scalars(select(Attachment.subject).distinct().order_by(Attachment.subject)):
        table = Base.metadata.tables.get(subject)
        of_subject = select(func.count()).select_from(Attachment).where(Attachment.subject == subject)
        if table is not None:
            of_subject = of_subject.where(~exists().where(table.c.id == Attachment.subject_id))
        count = session.scalar(of_subject)
        if count:
            found.append(
                ngettext(
                    "%(num)s attached file belongs to a record of %(table)s that is missing.",
                    "%(num)s attached files belong to records of %(table)s that are missing.",
                    count,
                    table=subject,
                )
            )
    return found


def altered_attachments(session: Session) -> list[str]:
    """Files whose content is not what was taken in."""
    kept = select(Attachment.file_name, Attachment.digest, Attachment.content).order_by(Attachment.id)
    return [
        _("The attached file “%(file)s” is not what was taken in: its content was altered.", file=name)
        for name, digest, content in session.execute(kept.execution_options(yield_per=20))
        if hashlib.sha256(content).hexdigest() != digest
    ]


def wrong_reversals(session: Session) -> list[str]:
    """Entries that take another back, and are not its counterpart."""
    found = []
    ledgers: Sequence[tuple[type[Movement | PlantMovement], str]] = (
        (Movement, "lot_id"), (PlantMovement, "batch_id"),
    )  # fmt: skip
    for ledger, holder in ledgers:
        undone = aliased(ledger)
        found += [
            _("Entry %(entry)s of %(table)s does not take back what it says, entry %(other)s.",
              entry=entry, table=ledger.__tablename__, other=other)
            for entry, other in session.execute(
                select(ledger.id, undone.id)
                .join(undone, ledger.reverses_id == undone.id)
                .where(or_(ledger.change != -undone.change, getattr(ledger, holder) != getattr(undone, holder)))
                .order_by(ledger.id)
            )
        ]  # fmt: skip
    return found


#: Looked through in this order by ``nursery check``; a new check is a function like these, and a line here.
CHECKS: Sequence[Check] = (
    other_rules,
    missing_guards,
    broken_references,
    lost_attachments,
    altered_attachments,
    wrong_balances,
    wrong_plant_balances,
    wrong_reversals,
    broken_seals,
)
