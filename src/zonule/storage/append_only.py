"""Triggers by which SQLite itself refuses to change or delete what has been recorded.

`INSERT OR REPLACE` deletes the row it replaces without firing a DELETE trigger unless the connection
asks for recursive triggers, which a foreign program will not; hence the guard before INSERT. Alembic's
`batch_alter_table` drops a table's triggers: a migration that uses it calls `refuse_changes` again.
"""

from __future__ import annotations

from collections.abc import Callable

SENTENCE = "this table is append-only: add a new row instead"


def refuse_changes(execute: Callable[[str], object], table: str) -> None:
    """Put the three guards on a table whose key is the integer `number`."""
    for event, condition in (
        ("UPDATE", ""),
        ("DELETE", ""),
        ("INSERT", f"WHEN EXISTS (SELECT 1 FROM {table} WHERE number = NEW.number) "),  # noqa: S608 - our own names
    ):
        name = f"{table}_refuse_{'replace' if event == 'INSERT' else event.lower()}"
        execute(f"DROP TRIGGER IF EXISTS {name}")
        execute(
            f"CREATE TRIGGER {name} BEFORE {event} ON {table} {condition}"
            f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
        )
