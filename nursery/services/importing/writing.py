"""The statements that write a confirmed file: one insert, one update and one audit insert, however many rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Table, bindparam, insert, select, update
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Lot, Planting, Species
from nursery.services import auditing
from nursery.services.auditing import plain
from nursery.services.importing.existing import Existing
from nursery.services.importing.movements import open_imported, recount_imported
from nursery.services.importing.newcomers import complete
from nursery.services.importing.outcome import Preview, Write
from nursery.services.ledger.opening import balance_changes
from nursery.services.lot_storage import storage_changes
from nursery.services.naming import resolve_species
from nursery.services.permits.accounts import Account
from nursery.services.permits.holding import RESTS_ON, check_lots
from nursery.services.permits.overruns import accounts_now

#: Ids in one question; databases bound the number of parameters.
_AT_ONCE = 500


def write_rows(session: Session, actor: str, found: Preview, today: dt.date) -> None:
    """Write what the preview promised, with a note of every record."""
    new = [write for write in found.writes if write.record_id is None]
    changed = [write for write in found.writes if write.record_id is not None]
    species_id = _species_ids(session, found.writes)
    changes: dict[int, dict[str, Any]] = {}

    def note(record_id: int, before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
        details = {
            key: [plain(before.get(key)), plain(value)]
            for key, value in after.items()
            if value not in (None, "") or before.get(key) not in (None, "")
        }
        changes[record_id] = details | {"file_name": [None, found.file_name]}

    if new:
        records = list(complete(session, found.kind, new))
        session.execute(insert(found.kind.model), [_to_columns(record, species_id) for record in records])
        # Asking for the ids while inserting would cost SQLite one statement a row; reading them back costs one.
        written = Existing(session, found.kind, dict(session.execute(select(Species.id, Species.key)).all()))
        for record in records:
            (row,) = written.find(found.kind.identities(record)[0])
            note(row["id"], {}, _to_columns(record, species_id))
        if found.kind.model is Lot:
            open_imported(session, actor, records, written, found.file_name)
    taken: dict[int, Account] | None = None
    rests: list[int] = []
    if changed:
        if found.kind.model is Lot:
            rests = _to_check(changed)
            taken = accounts_now(session) if rests else None
            changed = _with_days(session, changed, today)
            recount_imported(session, actor, changed, found.file_name, today)
        _update(session, found, changed, species_id)
        for write in changed:
            note(
                write.record_id or 0,
                _to_columns(write.before, species_id),
                _to_columns(write.values, species_id),
            )
    auditing.record_many(
        session, actor, action="imported", subject=found.kind.model.__tablename__, details=changes
    )
    if found.kind.model is Lot:
        newly = list(changes)[: len(new)]
        check_lots(session, actor, [*newly, *rests], before=taken)
    session.expire_all()  # rows read earlier know nothing of these statements
    if found.kind.model is Planting and changes:
        _ask_for_surveys(session, actor, found, today)


def _ask_for_surveys(session: Session, actor: str, found: Preview, today: dt.date) -> None:
    """What lives of the plantings of a file is counted after years, as if each had been typed."""
    # Tasks have zones, and zones come from files: asked for only once all are loaded.
    from nursery.services.work.syncing import sync_surveys  # noqa: PLC0415

    rows = [{**write.record, **write.values} for write in found.writes]
    sync_surveys(session, actor, today=today, sites={row["site_id"] for row in rows})


def _to_check(changed: Sequence[Write]) -> list[int]:
    """Lots on whose permit the file bears: by what the answer rests on, or by an amount found to be more."""
    return [
        write.record_id
        for write in changed
        if write.record_id
        and not write.record["is_received"]
        and (
            RESTS_ON & write.values.keys()
            or any(more > 0 for _m, more in balance_changes(write.before, write.values))
        )
    ]


def _with_days(session: Session, changed: Sequence[Write], today: dt.date) -> list[Write]:
    """Lots that the file puts elsewhere, or gives another moisture, get the days that go with it."""
    kept = {"storage_place_id", "moisture_pct"}
    values = {write.record_id: write.values for write in changed if kept & write.values.keys()}
    lots: list[Lot] = []
    ids = list(values)
    for start in range(0, len(ids), _AT_ONCE):
        lots += session.scalars(select(Lot).where(Lot.id.in_(ids[start : start + _AT_ONCE])))
    days = storage_changes(session, {lot: values[lot.id] for lot in lots}, today)
    more = {lot.id: found for lot, found in days.items()}
    return [replace(write, values={**write.values, **more.get(write.record_id or 0, {})}) for write in changed]


def _update(session: Session, found: Preview, changed: Sequence[Write], species_id: Mapping[str, int]) -> None:
    """One statement for all rows; a row that somebody changed meanwhile stops everything."""
    table = found.kind.model.__table__
    if not isinstance(table, Table):  # pragma: no cover -- every model here is a table
        raise TypeError(table)
    fields = sorted({key for write in changed for key in _to_columns(write.values, species_id)})
    statement = (
        update(table)
        .where(table.c.id == bindparam("the_id"), table.c.version == bindparam("the_version"))
        .values({field: bindparam(f"new_{field}") for field in fields} | {"version": table.c.version + 1})
    )
    rows = [
        {"the_id": write.record_id, "the_version": write.version}
        | {
            f"new_{field}": value
            for field, value in _to_columns({**write.record, **write.values}, species_id).items()
            if field in fields
        }
        for write in changed
    ]
    done = session.connection().execute(statement, rows)
    if done.rowcount != len(rows):
        raise Conflict(_("Somebody changed one of these records meanwhile. Nothing was written; look again."))


def _to_columns(values: Mapping[str, Any], species_id: Mapping[str, int]) -> dict[str, Any]:
    """The table's columns: a species is kept by its id."""
    columns = dict(values)
    if "species" in columns:
        columns["species_id"] = species_id[columns.pop("species")]
    return columns


def _species_ids(session: Session, writes: Sequence[Write]) -> dict[str, int]:
    keys = {
        values["species"]
        for write in writes
        for values in (write.values, write.before, write.record)
        if "species" in values
    }
    return {key: resolve_species(session, key).id for key in sorted(keys)}
