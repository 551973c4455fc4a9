"""Alembic's environment: the product hands over its own connection; developers' plain `alembic` makes one."""

from __future__ import annotations

from alembic import context
from sqlalchemy import Connection

from nursery.config import read_settings
from nursery.database import make_engine
from nursery.models import Base
from nursery.models.types import UtcDateTime


def render_item(kind: str, item: object, _context: object) -> str | bool:
    """Write our own column types as what they are in the database, so that old migrations need no product code."""
    return "sa.DateTime()" if kind == "type" and isinstance(item, UtcDateTime) else False


def run(connection: Connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=True,
        compare_type=True,
        render_item=render_item,
    )
    with context.begin_transaction():
        context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    with make_engine(read_settings().database_url).begin() as connection:
        run(connection)
