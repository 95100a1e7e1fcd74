"""Bringing tables up to date, from nothing on."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from importlib.resources import files
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from fakes.acts import open_case
from zonule.errors import StorageError
from zonule.storage.schema import APPEND_ONLY, metadata
from zonule.storage.sql_record import SqlRecord, open_record
from zonule.storage.sqlite_file import sqlite_engine
from zonule.storage.upgrading import HEAD, VERSION_TABLE, alembic_settings


@pytest.fixture
def connection(sqlite_record: SqlRecord, file: Path) -> Iterator[Connection]:
    assert sqlite_record.listings() == ()
    engine = sqlite_engine(file)
    with engine.connect() as opened:
        yield opened
    engine.dispose()


def test_the_head_we_name_is_the_head_there_is(connection: Connection) -> None:
    assert ScriptDirectory.from_config(alembic_settings(connection)).get_current_head() == HEAD


def test_migrations_make_the_tables_that_the_code_reads(connection: Connection) -> None:
    context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
    assert compare_metadata(context, metadata) == []


def test_every_append_only_table_has_its_three_guards(connection: Connection) -> None:
    found = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'").scalars()
    guards = ("update", "delete", "replace")
    assert set(found) == {f"{table.name}_refuse_{guard}" for table in APPEND_ONLY for guard in guards}


def test_the_package_carries_its_migrations() -> None:
    folder = files("zonule.storage") / "migrations"
    assert (folder / "env.py").is_file()
    assert (folder / "versions" / "0001_first_tables.py").is_file()


def test_many_who_open_a_new_file_at_once_make_it_once(file: Path) -> None:
    def start(worker: int) -> None:
        record = open_record(file)
        assert record.days() == (), worker
        record.close()

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(start, range(4)))
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute(f"SELECT version_num FROM {VERSION_TABLE}").fetchall() == [(HEAD,)]  # noqa: S608 - a constant


def test_a_record_of_a_newer_zonule_is_left_alone(file: Path) -> None:
    record = open_record(file)
    key = open_case(record)
    record.close()
    with closing(sqlite3.connect(file)) as connection:
        connection.execute(f"UPDATE {VERSION_TABLE} SET version_num = '9999'")  # noqa: S608 - a constant
        connection.commit()
    with pytest.raises(StorageError, match=r"newer zonule.*nothing has been changed"):
        open_record(file)
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT key FROM cases").fetchall() == [(key,)]
