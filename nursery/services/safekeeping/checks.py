"""Looking a database over: each check gives a sentence for each fault that it finds."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sqlalchemy import ColumnElement, ForeignKeyConstraint, and_, exists, func, select, text
from sqlalchemy.orm import Session

from nursery.database import knows_revision, revision_of
from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.models import Attachment, Base
from nursery.services.auditing import broken_seals
from nursery.services.batches.checking import wrong_plant_balances
from nursery.services.ledger import wrong_balances

#: Tables to which rows are only ever added; the database itself refuses anything else.
LEDGERS = ("movements", "plant_movements", "supply_movements", "changes", "seals")
Check = Callable[[Session], list[str]]


def find_faults(session: Session) -> list[str]:
    """Every fault of the database; where its pages are damaged, only that, since nothing else can be trusted."""
    damaged = damaged_file(session)
    return damaged or [fault for check in CHECKS for fault in check(session)]


def damaged_file(session: Session) -> list[str]:
    """What SQLite finds in its own file; a server looks after its files itself."""
    if session.get_bind().dialect.name != "sqlite":
        return []
    found = session.scalars(text("PRAGMA integrity_check")).all()
    return [_("The database's file is damaged: %(reason)s", reason=reason) for reason in found if reason != "ok"]


def unfinished_migration(session: Session) -> list[str]:
    """A schema of a revision that this version does not know, or whose tables are not all there."""
    connection = session.connection()
    revision = revision_of(connection)
    if revision is None or not knows_revision(connection, revision):
        return [_("The database says that its version is %(revision)s, which is none of ours.", revision=revision)]
    missing = [name for name in Base.metadata.tables if not connection.dialect.has_table(connection, name)]
    return [_("The table %(table)s is missing.", table=name) for name in sorted(missing)]


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


def missing_guards(session: Session) -> list[str]:
    """Ledgers that the database no longer guards against changes."""
    is_sqlite = session.get_bind().dialect.name == "sqlite"
    guarded = session.execute(
        text("SELECT tbl_name, count(*) FROM sqlite_master WHERE type = 'trigger' GROUP BY tbl_name")
        if is_sqlite
        else text(
            "SELECT relname, count(*) FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid"
            " WHERE NOT tgisinternal AND tgenabled IN ('O', 'A') GROUP BY relname"
        )
    )
    counts = {str(name): int(count) for name, count in guarded}
    needed = 2 if is_sqlite else 1
    return [
        _("The ledger %(table)s is not guarded against changes any more: its triggers are missing.", table=name)
        for name in LEDGERS
        if counts.get(name, 0) < needed
    ]


#: Looked through in this order by ``nursery check``; a new check is a function like these, and a line here.
CHECKS: Sequence[Check] = (
    unfinished_migration,
    broken_references,
    lost_attachments,
    missing_guards,
    wrong_balances,
    wrong_plant_balances,
    broken_seals,
)
