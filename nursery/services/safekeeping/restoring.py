"""Bringing an archive back in the place of a database: made whole and proved beside it first, then swapped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, make_url
from sqlalchemy.exc import DatabaseError

from nursery.database import make_engine, rebuilding
from nursery.errors import Conflict
from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import Base
from nursery.services.safekeeping import files
from nursery.services.safekeeping.archives import Archive, Manifest, open_archive
from nursery.services.safekeeping.loading import check_known, fill
from nursery.services.safekeeping.shapes import quoted

#: What every database holds before anybody types (`nursery.services.setup`); it is no loss.
_FROM_SETTING_UP = {"species", "preferences", "rule_sets", "rule_versions", "changes", "seals", "alembic_version"}
#: Tables named in a refusal.
_MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Restored:
    """What was brought back, and where the file that stood in its place is kept."""

    manifest: Manifest
    kept: Path | None = None


def restore(file: Path, address: str, *, replace: bool = False) -> Restored:
    """Bring the archive ``file`` back into the database at ``address``; all of it or nothing.

    Raises
    ------
    Conflict
        When the database holds records and ``replace`` is not given, or is in use.
    Invalid
        When the archive is damaged, of a later version, or does not arrive as it was written.
    """
    url = make_url(address)
    with open_archive(file) as archive:
        archive.check()
        if url.get_backend_name() == "sqlite":
            return Restored(archive.manifest, _into_file(archive, Path(url.database or ""), replace=replace))
        engine = make_engine(address)
        try:
            _into_server(archive, engine, replace=replace)
        finally:
            engine.dispose()
    return Restored(archive.manifest)


def _into_file(archive: Archive, target: Path, *, replace: bool) -> Path | None:
    target.parent.mkdir(parents=True, exist_ok=True)
    if target.exists():
        if not replace:
            _refuse_to_lose(_records_of_file(target))
        files.check_unused(target)
    with files.beside(target) as making:
        engine = make_engine(f"sqlite:///{making}")
        try:
            with rebuilding(engine) as connection:
                fill(connection, archive)
        finally:
            engine.dispose()
        return files.swap(making, target)


def _records_of_file(target: Path) -> Mapping[str, int] | None:
    """Rows by table; None where the file is no database that can be read."""
    engine = make_engine(f"sqlite:///{target}")
    try:
        with engine.connect() as connection:
            return records(connection)
    except DatabaseError:
        return None
    finally:
        engine.dispose()


def _into_server(archive: Archive, engine: Engine, *, replace: bool) -> None:
    """In one transaction: readers see the old database until it ends, and keep it if it does not end well."""
    with rebuilding(engine) as connection:
        check_known(connection, archive.manifest)
        if not replace:
            _refuse_to_lose(records(connection))
        _clear(connection)
        fill(connection, archive)


def records(connection: Connection) -> dict[str, int]:
    """How many rows would be lost with this database, by table, largest first; none before anybody has typed."""
    ours = set(Base.metadata.tables) - _FROM_SETTING_UP
    counts = {
        name: int(
            connection.exec_driver_sql(f"SELECT count(*) FROM {quoted(connection, name)}").scalar_one()  # noqa: S608
        )
        for name in sorted(ours & set(inspect(connection).get_table_names()))
    }
    return dict(sorted(((name, count) for name, count in counts.items() if count), key=lambda one: -one[1]))


def _refuse_to_lose(found: Mapping[str, int] | None) -> None:
    if found is None:
        raise Conflict(
            _(
                "There is a file that cannot be read as a database. Nothing was changed. Give --replace to put the"
                " backup in its place; the file is kept beside it."
            )
        )
    if not found:
        return
    rows = sum(found.values())
    named = [f"{name} {format_number(count)}" for name, count in list(found.items())[:_MOST_NAMED]]
    raise Conflict(
        ngettext(
            "The database holds %(num)s record that would be lost (%(tables)s). Nothing was changed. Back it up"
            " first, then give --replace.",
            "The database holds %(num)s records that would be lost (%(tables)s). Nothing was changed. Back it up"
            " first, then give --replace.",
            rows,
            tables=", ".join([*named, "…"] if len(found) > _MOST_NAMED else named),
        )
    )


def _clear(connection: Connection) -> None:
    """Take this product's tables out of the server's database, and the functions that guard them; no others."""
    there = sorted(set(inspect(connection).get_table_names()) & {*Base.metadata.tables, "alembic_version"})
    guards = connection.exec_driver_sql(
        "SELECT DISTINCT tgfoid::regprocedure::text FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid"
        " WHERE NOT tgisinternal AND relname = ANY(%(tables)s) AND relnamespace = current_schema()::regnamespace",
        {"tables": there},
    ).all()
    for name in there:
        connection.exec_driver_sql(f"DROP TABLE {quoted(connection, name)} CASCADE")
    for (guard,) in guards:
        connection.exec_driver_sql(f"DROP FUNCTION {guard}")
