"""Bringing tables up to date, from nothing on."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import timedelta
from importlib.resources import files
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.command import upgrade
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from fakes.acts import open_case
from fakes.examples import ordinary_case, ordinary_operation, ordinary_review, ordinary_signed_plan
from zonule.case.operation import Operation
from zonule.errors import StorageError
from zonule.storage.documents import as_document
from zonule.storage.schema import APPEND_ONLY, metadata
from zonule.storage.sql_record import SqlRecord, open_record
from zonule.storage.sqlite_file import make_file, sqlite_engine
from zonule.storage.upgrading import HEAD, VERSION_TABLE, alembic_settings

GUARDS = {
    f"{table.name}_refuse_{guard}" for table in APPEND_ONLY for guard in ("update", "delete", "replace")
}
NEW_IN_OPERATIONS = {"incision_width_mm", "lens_cylinder_dpt", "lens_meridian_deg"}
TORIC = ordinary_operation(lens_cylinder_dpt=2.25, lens_meridian_deg=95.0)


@pytest.fixture
def connection(sqlite_record: SqlRecord, file: Path) -> Iterator[Connection]:
    assert sqlite_record.listings() == ()
    engine = sqlite_engine(file)
    with engine.connect() as opened:
        yield opened
    engine.dispose()


@pytest.fixture
def first_tables(file: Path) -> Path:
    """A record as the first version of the tables kept it, with one case that has been operated on."""
    make_file(file)
    engine = sqlite_engine(file)
    with engine.connect() as opened, opened.begin():
        upgrade(alembic_settings(opened), "0001")
        case = ordinary_case()
        for statement, values in (
            ("patients VALUES (?, ?)", (case.patient.key, as_document(case.patient))),
            ("eyes VALUES (1, ?, 'right', ?, '')", (case.patient.key, as_document(case.eye))),
            ("cases VALUES (?, ?, 'right', '2026-11-16', 3, '{}')", (case.key, case.patient.key)),
            (
                "signed_plans VALUES (1, ?, '', NULL, NULL, ?)",
                (case.key, as_document(ordinary_signed_plan())),
            ),
            ("operations VALUES (1, ?, ?)", (case.key, _as_first_written(ordinary_operation()))),
            ("operations VALUES (2, ?, ?)", (case.key, as_document(TORIC))),
            ("reviews VALUES (1, ?, ?)", (case.key, as_document(ordinary_review()))),
        ):
            opened.exec_driver_sql(f"INSERT INTO {statement}", values)
    engine.dispose()
    return file


def _as_first_written(operation: Operation) -> str:
    """The document of an operation before it could tell of an incision's width or a lens's cylinder."""
    document = json.loads(as_document(operation))
    return json.dumps({name: document[name] for name in document if name not in NEW_IN_OPERATIONS})


def _everything(file: Path) -> dict[str, list[tuple[object, ...]]]:
    """What each of the first tables holds, without columns that came later."""
    kept = ("patients", "eyes", "cases", "signed_plans", "reviews", "trail")
    with closing(sqlite3.connect(file)) as connection:
        found = {table: connection.execute(f"SELECT * FROM {table}").fetchall() for table in kept}  # noqa: S608 - our own names
        operations = connection.execute("SELECT number, case_key, document FROM operations").fetchall()
    return found | {"operations": operations}


def test_a_record_of_the_first_tables_keeps_every_row(first_tables: Path) -> None:
    before = _everything(first_tables)
    open_record(first_tables).close()
    assert _everything(first_tables) == before
    assert len(before["operations"]) == 2


def test_a_case_of_the_first_tables_reads_as_before_and_is_found_by_its_cylinder(first_tables: Path) -> None:
    with closing(open_record(first_tables)) as record:
        case = record.case("demo-0042-right")
        assert case == ordinary_case(
            signed=ordinary_signed_plan(), operation=TORIC, review=ordinary_review(), revision=3
        )
        assert record.toric_cases(TORIC.operated_on) == (case,)
        assert record.toric_cases(TORIC.operated_on + timedelta(days=1)) == ()


def test_a_record_brought_up_to_date_is_guarded_again(first_tables: Path) -> None:
    open_record(first_tables).close()
    with closing(sqlite3.connect(first_tables)) as connection:
        found = {
            name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        }
    assert found == GUARDS


def test_the_head_we_name_is_the_head_there_is(connection: Connection) -> None:
    assert ScriptDirectory.from_config(alembic_settings(connection)).get_current_head() == HEAD


def test_migrations_make_the_tables_that_the_code_reads(connection: Connection) -> None:
    context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
    assert compare_metadata(context, metadata) == []


def test_every_append_only_table_has_its_three_guards(connection: Connection) -> None:
    found = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'").scalars()
    assert set(found) == GUARDS


def test_the_package_carries_its_migrations() -> None:
    folder = files("zonule.storage") / "migrations"
    assert (folder / "env.py").is_file()
    assert (folder / "versions" / "0001_first_tables.py").is_file()
    assert (folder / "versions" / "0002_axis_and_incision.py").is_file()


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
