"""Tables of a ledger: the database itself refuses to change or delete a row."""

from __future__ import annotations

from sqlalchemy import DDL, Table, event


def only_added(table: Table) -> None:
    """Give the table the triggers that keep it to insertions, whenever it is made."""
    for verb in ("UPDATE", "DELETE"):
        event.listen(
            table,
            "after_create",
            DDL(  # type: ignore[no-untyped-call]
                f"CREATE TRIGGER {table.name}_no_{verb.lower()} BEFORE {verb} ON {table.name} "
                f"BEGIN SELECT RAISE(ABORT, 'the ledger is only added to'); END"
            ).execute_if(dialect="sqlite"),
        )
    event.listen(
        table,
        "after_create",
        DDL(  # type: ignore[no-untyped-call]
            f"CREATE FUNCTION {table.name}_only_added() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION 'the ledger is only added to'; END $$; "
            f"CREATE TRIGGER {table.name}_only_added BEFORE UPDATE OR DELETE ON {table.name} "
            f"FOR EACH ROW EXECUTE FUNCTION {table.name}_only_added()"
        ).execute_if(dialect="postgresql"),
    )
