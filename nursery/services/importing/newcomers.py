"""New records made whole: defaults of the tables, and codes for lots that came without."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import Column, inspect, select
from sqlalchemy.orm import Session
from sqlalchemy.sql.schema import ScalarElementColumnDefault

from nursery.catalog.reading import load_catalog
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.services.codes import SERIALS, lot_code
from nursery.services.importing.kinds import Kind
from nursery.services.importing.outcome import Write

#: Columns that the database fills by itself when a row is written.
_OWN = {"id", "version", "created_at", "archived_at"}


def complete(session: Session, kind: Kind, writes: Sequence[Write]) -> Iterator[dict[str, Any]]:
    """Every new record with the same fields, so that one statement writes them all; ``species`` is still a key."""
    defaults = {
        column.key: _default(column)
        for column in inspect(kind.model).columns
        if column.key not in _OWN and column.key != "species_id"
    }
    records = [{**defaults, **write.values} for write in writes]
    if kind.model is Lot:
        give_codes(session, records)
    yield from records


def _default(column: Column[Any]) -> Any:
    return column.default.arg if isinstance(column.default, ScalarElementColumnDefault) else None


def give_codes(session: Session, lots: Sequence[dict[str, Any]]) -> None:
    """Codes for the lots that have none, the lowest free ones of their species and year."""
    nameless = [lot for lot in lots if not lot["code"]]
    if not nameless:
        return
    taken = set(session.scalars(select(Lot.code))) | {lot["code"] for lot in lots}
    names: Mapping[str, str] = {key: entry.scientific_name for key, entry in load_catalog().species.items()}
    serials: dict[tuple[str, int], int] = {}
    for lot in nameless:
        origin = (lot["species"], lot["ripening_year"])
        serial = serials.get(origin, 1)
        while serial < SERIALS and (code := lot_code(names[origin[0]], origin[1], serial)) in taken:
            serial += 1
        if serial >= SERIALS:
            raise Invalid(
                {
                    "file": _(
                        "All codes of %(species)s of %(year)s are given out. Write codes of your own in the file.",
                        species=names[origin[0]],
                        year=origin[1],
                    )
                }
            )
        lot["code"] = code
        taken.add(code)
        serials[origin] = serial + 1
