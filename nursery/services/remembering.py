"""What many pages ask of the records again and again, kept until something changes.

Every write is noted, and a transaction that notes something ends with a seal (see `auditing`); on PostgreSQL too
they are sealed one after the other. The newest seal therefore names the state of the records: what was read while
it was the newest is read again only when there is a newer one, in whichever process that was written.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.database import MEMORY, WRITES
from nursery.memory import Memory
from nursery.models import Seal

T = TypeVar("T")
_NEWEST = "nursery_newest_seal"
_SEAL = select(Seal.hash).order_by(Seal.id.desc()).limit(1)


def remembered(session: Session, key: Hashable, read: Callable[[], T]) -> T:
    """What ``read`` gives, without reading again while no record changed.

    A session that may write, one without a memory, and one of a database without seals always read.
    """
    memory: Memory | None = session.info.get(MEMORY)
    if memory is None or not (seal := _newest(session)):
        return read()
    return memory.get((seal, key), read)


def _newest(session: Session) -> str:
    """The newest seal, read once a transaction: before anything that is kept under it, never after."""
    connection = session.connection()
    transaction, seal = session.info.get(_NEWEST, (None, ""))
    if transaction is None or transaction is not session.get_transaction():
        writes = connection.get_execution_options().get(WRITES, False)
        seal = "" if writes else connection.scalar(_SEAL) or ""
        session.info[_NEWEST] = session.get_transaction(), seal
    return str(seal)
