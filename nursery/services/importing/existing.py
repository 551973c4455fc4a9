"""The records of a kind as they are, found again by their identities."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.services.importing.kinds import Kind


class Existing:
    """All records of one kind, read by one query."""

    def __init__(self, session: Session, kind: Kind, species_key: Mapping[int, str]) -> None:
        self._by_identity: dict[tuple[Any, ...], list[dict[str, Any]]] = defaultdict(list)
        for found in session.execute(select(*kind.model.__table__.columns)).mappings():
            record = dict(found)
            if "species_id" in record:
                record["species"] = species_key[record.pop("species_id")]
            for identity in kind.identities(record):
                self._by_identity[identity].append(record)

    def find(self, identity: tuple[Any, ...]) -> list[dict[str, Any]]:
        """Records of this identity: those in use, else the archived one."""
        found = self._by_identity.get(identity, [])
        return [record for record in found if record["archived_at"] is None] or found[:1]
