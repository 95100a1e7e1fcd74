"""A record in one SQLite file: made, opened, and its complaints put into plain sentences."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from zonule.errors import InputError, StorageError

BUSY_AFTER_S = 5.0
"""How long a write waits for another one before it gives up."""
WRITES = "zonule_writes"
"""Execution option of a connection that is going to write."""

_OWNER_ONLY_FILE, _OWNER_ONLY_FOLDER = 0o600, 0o700
_READ_ONLY = (
    "{path} cannot be written: the file or its folder is read-only for you. "
    "Choose another folder, or ask for the right to write there."
)
_SENTENCES = {
    sqlite3.SQLITE_BUSY: "{path} is in use by another program. Nothing was saved; try again in a moment.",
    sqlite3.SQLITE_CANTOPEN: "{path} cannot be opened. Check that it is a file in a folder you may write in.",
    sqlite3.SQLITE_CONSTRAINT: (
        "The record refused this change: what is in it may be added to, and never contradicted ({detail})."
    ),
    sqlite3.SQLITE_CORRUPT: (
        "{path} is damaged. Leave it as it is, and go on with the latest copy that is whole."
    ),
    sqlite3.SQLITE_FULL: "The disk is full. Nothing was saved; make room and save again.",
    sqlite3.SQLITE_IOERR: "The disk could not be read or written ({detail}). Nothing was saved.",
    sqlite3.SQLITE_NOTADB: "{path} is no record of zonule: it is not a database at all. Choose another file.",
    sqlite3.SQLITE_READONLY: _READ_ONLY,
}
_OTHERWISE = "{path} could not be read or written: {detail}."


def make_file(path: Path) -> None:
    """Make the file and its folder, for their owner alone, unless they are there."""
    try:
        path.parent.mkdir(mode=_OWNER_ONLY_FOLDER, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, _OWNER_ONLY_FILE))
    except FileExistsError:
        return
    except OSError as error:
        raise StorageError(_READ_ONLY.format(path=path)) from error


def sqlite_engine(path: Path) -> Engine:
    """An engine that threads may share: each operation has a connection of its own."""
    engine = create_engine(
        URL.create("sqlite", database=str(path.absolute())),
        connect_args={"timeout": BUSY_AFTER_S, "isolation_level": None},
        max_overflow=-1,
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def keep_a_write_ahead_log(path: Path) -> None:
    """Let readers go on while somebody writes; the file itself remembers this, a copy of it may not."""
    with closing(sqlite3.connect(path, timeout=BUSY_AFTER_S)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")


@contextmanager
def plain_errors(path: Path) -> Iterator[None]:
    """Say what the database says in the user's words."""
    try:
        yield
    except UnicodeEncodeError as error:
        raise InputError("A text holds half a character, so it cannot be kept. Type it again.") from error
    except (SQLAlchemyError, sqlite3.Error) as error:
        raise StorageError(_sentence(error, path)) from error


def _prepare(connection: sqlite3.Connection, _record: object) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")


def _begin(connection: Connection) -> None:
    # Writers queue at the start, so that what they read first is still true when they write.
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _sentence(error: Exception, path: Path) -> str:
    cause = error.orig if isinstance(error, DBAPIError) else error
    kind = getattr(cause, "sqlite_errorcode", 0) & 0xFF  # the low byte; the rest tells subspecies apart
    return _SENTENCES.get(kind, _OTHERWISE).format(path=path, detail=cause)
