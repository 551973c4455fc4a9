"""Whether the database has the tables, columns, rules and guards that the migrations make."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import CheckConstraint, inspect, text
from sqlalchemy.orm import Session

from nursery.database import knows_revision, revision_of
from nursery.i18n import gettext as _
from nursery.models import Base

#: Tables to which rows are only ever added; the database itself refuses anything else.
LEDGERS = ("movements", "plant_movements", "supply_movements", "changes", "seals")


def unknown_revision(session: Session) -> list[str]:
    """A schema of a revision that this version does not know."""
    connection = session.connection()
    revision = revision_of(connection)
    if revision is None:
        return [_("The database does not say of which version its tables are.")]
    if not knows_revision(connection, revision):
        return [_("The database says that its version is %(revision)s, which is none of ours.", revision=revision)]
    return []


def missing_parts(session: Session) -> list[str]:
    """Tables and columns that are not there, so that nothing of them can be asked."""
    there = {
        name: {column["name"] for column in columns}
        for (_schema, name), columns in inspect(session.connection()).get_multi_columns().items()
    }
    found = []
    for name, table in sorted(Base.metadata.tables.items()):
        if name not in there:
            found.append(_("The table %(table)s is missing.", table=name))
        else:
            lost = sorted({column.name for column in table.columns} - there[name])
            found += [
                _("The table %(table)s lacks its column %(column)s.", column=one, table=name) for one in lost
            ]
    return found


def other_rules(session: Session) -> list[str]:
    """Columns of another kind, columns too many and rules that are gone; tables of others are left alone."""
    from alembic.autogenerate import compare_metadata  # noqa: PLC0415 -- slow import
    from alembic.migration import MigrationContext  # noqa: PLC0415 -- slow import

    context = MigrationContext.configure(session.connection(), opts={"compare_type": True})
    found = [told for change in compare_metadata(context, Base.metadata) for told in _told(change)]
    return sorted([*found, *_missing_conditions(session)])


def _told(change: Any) -> Iterable[str]:
    """A difference as Alembic gives it, in words: a tuple, or several changes of one column as a list."""
    if isinstance(change, list):
        table, column = change[0][2:4]
        yield _("The column %(column)s of the table %(table)s is not of its kind.", column=column, table=table)
        return
    match change:
        case ("remove_column", _schema, table, column):
            yield _("The table %(table)s has a column too many, %(column)s.", column=column.name, table=table)
        case (("add_index" | "add_constraint" | "add_fk"), rule):
            yield _lacks(rule.table.name, str(rule.name))


def _lacks(table: str, rule: str) -> str:
    return _("The table %(table)s lacks its rule %(rule)s.", table=table, rule=rule)


def _missing_conditions(session: Session) -> Iterable[str]:
    """Conditions on values, which Alembic does not compare."""
    there = inspect(session.connection()).get_multi_check_constraints()
    for name, table in Base.metadata.tables.items():
        kept = {str(rule["name"]) for rule in there[None, name]}
        wanted = {str(rule.name) for rule in table.constraints if isinstance(rule, CheckConstraint)}
        yield from (_lacks(name, rule) for rule in wanted - kept)


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
