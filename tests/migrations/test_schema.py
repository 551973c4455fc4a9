"""The migrations make exactly the models, both ways, and keep what a filled database holds."""

from __future__ import annotations

import datetime as dt
import re
import runpy
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, inspect, select

from nursery import resources
from nursery.database import downgrade, is_current, make_engine, upgrade
from nursery.models import Base
from tests.databases import Kept, Store


def scripts() -> ScriptDirectory:
    config = Config()
    config.set_main_option("script_location", str(resources.migrations()).replace("%", "%%"))
    return ScriptDirectory.from_config(config)


@pytest.fixture
def revisions() -> ScriptDirectory:
    return scripts()


def elements(sql: str) -> list[str]:
    """The columns and constraints of a definition, in one spelling; their order does not count."""
    text = " ".join(re.findall(r"\w+|[^\w\s]", sql.replace('"', "")))
    text = text.replace("DEFAULT ( ' ' )", "DEFAULT ' '")  # how a table that was copied spells the same
    parts, depth = [""], 0
    for sign in text:
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if sign == "," and depth == 1:
            parts.append("")
        else:
            parts[-1] += sign
    return sorted(part.strip(" ()") for part in parts)


#: What PostgreSQL says of its own tables.
CATALOGUE = """
    SELECT 'column', table_name || '.' || column_name,
        concat_ws(' ', data_type, character_maximum_length, is_nullable, column_default)
        FROM information_schema.columns WHERE table_schema = 'public' AND table_name <> 'alembic_version'
    UNION ALL SELECT 'constraint', conrelid::regclass || '.' || conname, pg_get_constraintdef(oid)
        FROM pg_constraint
        WHERE connamespace = 'public'::regnamespace AND conrelid::regclass::text <> 'alembic_version'
    UNION ALL SELECT 'index', indexname, indexdef
        FROM pg_indexes WHERE schemaname = 'public' AND tablename <> 'alembic_version'
    UNION ALL SELECT 'trigger', tgrelid::regclass || '.' || tgname, pg_get_triggerdef(oid)
        FROM pg_trigger WHERE NOT tgisinternal
"""


def schema(engine: Engine) -> dict[tuple[str, str], list[str]]:
    """Every table and index with its definition; on PostgreSQL every column, constraint and trigger too."""
    with engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            known = connection.exec_driver_sql(CATALOGUE).all()
            return {(kind, name): [definition] for kind, name, definition in known}
        found = connection.exec_driver_sql(
            "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name <> 'alembic_version'"
        ).all()
    return {(kind, name): elements(sql) for kind, name, sql in found}


Columns = dict[str, list[str]]


def columns(engine: Engine) -> Columns:
    """The columns of the models that this database has; what became of others the data of each revision say."""
    found, tables = inspect(engine), Base.metadata.tables
    return {
        name: [column["name"] for column in found.get_columns(name) if column["name"] in tables[name].c]
        for name in found.get_table_names()
        if name in tables
    }


def contents(engine: Engine, known: Columns) -> dict[str, list[tuple[object, ...]]]:
    """All rows of the known columns."""
    tables = Base.metadata.tables
    with engine.connect() as connection:
        return {
            name: [
                tuple(row)
                for row in connection.execute(
                    select(*(tables[name].c[column] for column in names)).order_by(tables[name].c.id)
                )
            ]
            for name, names in known.items()
        }


def broken_references(engine: Engine) -> list[tuple[object, ...]]:
    with engine.connect() as connection:
        return [tuple(row) for row in connection.exec_driver_sql("PRAGMA foreign_key_check").all()]


def test_there_is_one_head(revisions: ScriptDirectory) -> None:
    assert len(revisions.get_heads()) == 1


def test_the_migrations_make_exactly_the_tables_of_the_models(
    engine: Engine, store: Store, tmp_path: Path
) -> None:
    made = make_engine(store.copy(None, tmp_path, "models"))
    Base.metadata.create_all(made)

    assert schema(engine) == schema(made)
    made.dispose()


def test_a_changed_check_constraint_would_be_noticed(engine: Engine) -> None:
    before = schema(engine)
    spoilt = {
        "sqlite": (
            "PRAGMA writable_schema=ON",
            "UPDATE sqlite_master SET sql = replace(sql, 'area_ha > 0', 'area_ha >= 0') WHERE name = 'sites'",
        ),
        "postgresql": (
            "ALTER TABLE sites DROP CONSTRAINT ck_sites_area_positive",
            "ALTER TABLE sites ADD CONSTRAINT ck_sites_area_positive CHECK (area_ha >= 0)",
        ),
    }
    with engine.begin() as connection:
        for statement in spoilt[engine.dialect.name]:
            connection.exec_driver_sql(statement)

    assert schema(engine) != before


@pytest.mark.parametrize("revision", [row.revision for row in scripts().walk_revisions()])
def test_each_revision_keeps_the_data_it_was_written_for(revision: str, store: Store, tmp_path: Path) -> None:
    data = runpy.run_path(str(Path(__file__).with_name(f"data_{revision}.py")))
    step = scripts().get_revision(revision)
    below = str(step.down_revision or "base")
    engine = make_engine(store.copy(None, tmp_path, "data"))
    if step.down_revision:
        upgrade(engine, below)

    with engine.begin() as connection:
        data["load"](connection)
    upgrade(engine, revision)
    with engine.connect() as connection:
        data["check_upgraded"](connection)
    downgrade(engine, below)
    with engine.connect() as connection:
        data["check_downgraded"](connection)
    engine.dispose()


def test_a_new_database_goes_all_the_way_down_and_up_again(engine: Engine, revisions: ScriptDirectory) -> None:
    first = schema(engine)
    for revision in revisions.walk_revisions():
        downgrade(engine, str(revision.down_revision or "base"))
        assert not is_current(engine)

    assert schema(engine) == {}
    upgrade(engine)

    assert is_current(engine)
    assert schema(engine) == first


@pytest.fixture
def filled(seasons: Callable[[dt.date], Kept], today: dt.date, tmp_path: Path) -> Iterator[Engine]:
    """A database with the demo season."""
    engine = make_engine(seasons(today).copy(tmp_path))
    yield engine
    engine.dispose()


def test_a_filled_database_keeps_everything_one_step_down_and_up(
    filled: Engine, revisions: ScriptDirectory
) -> None:
    engine = filled
    newest = revisions.get_revision("head")
    assert newest is not None
    held = {name: len(rows) for name, rows in contents(engine, columns(engine)).items()}
    downgrade(engine, str(newest.down_revision or "base"))
    # What the older version has no place for is lost on the way down; all else is kept.
    known = columns(engine)
    left = broken_references(engine)
    kept = contents(engine, known)
    upgrade(engine)

    assert left == []
    assert broken_references(engine) == []
    assert all(kept[name] for name in ("sites", "lots", "targets", "changes", "preferences"))
    assert {name: len(rows) for name, rows in kept.items()} == {name: held[name] for name in kept}
    assert contents(engine, known) == kept


def test_a_filled_database_is_sound(filled: Engine) -> None:
    assert broken_references(filled) == []
    found = contents(filled, columns(filled))
    assert all(found[name] for name in ("sites", "lots", "targets", "changes", "preferences"))
