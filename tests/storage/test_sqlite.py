"""What the record on disk promises beyond the contract."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from threading import Event, Thread

import pytest

from fakes.acts import open_case, ordinary_act
from fakes.examples import (
    ordinary_axis_visit,
    ordinary_case,
    ordinary_eye,
    ordinary_incision_lesson,
    ordinary_intent,
    ordinary_lesson,
    ordinary_operation,
    ordinary_patient,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.errors import InputError, StorageError
from zonule.storage import sqlite_file
from zonule.storage.append_only import SENTENCE
from zonule.storage.schema import APPEND_ONLY
from zonule.storage.sql_record import SqlRecord, open_record
from zonule.storage.upgrading import VERSION_TABLE

GUARDED = [table.name for table in APPEND_ONLY]


def _fill(record: SqlRecord) -> str:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.put_intent(key, ordinary_intent(), revision=0)
        act.add_signed_plan(key, ordinary_signed_plan())
        act.add_operation(key, ordinary_operation())
        act.add_review(key, ordinary_review())
        act.put_axis_visits(key, (ordinary_axis_visit(),))
        act.add_lesson(ordinary_lesson())
        act.add_incision_lesson(ordinary_incision_lesson())
    return key


@pytest.fixture
def stranger(sqlite_record: SqlRecord, file: Path) -> Iterator[sqlite3.Connection]:
    """A connection of another program, which sets no pragma."""
    _fill(sqlite_record)
    with closing(sqlite3.connect(file, isolation_level=None)) as connection:
        yield connection


# Opening and closing


def test_the_file_and_its_folder_are_for_their_owner_alone(sqlite_record: SqlRecord, file: Path) -> None:
    _fill(sqlite_record)
    assert stat.S_IMODE(file.parent.stat().st_mode) == 0o700
    made = list(file.parent.iterdir())
    assert {one.name for one in made} >= {"record.db", "record.db-wal"}
    assert {stat.S_IMODE(one.stat().st_mode) for one in made} == {0o600}


def test_what_was_saved_is_there_when_the_file_is_opened_again(file: Path) -> None:
    record = open_record(file)
    key = _fill(record)
    saved = record.case(key)
    record.close()
    again = open_record(file)
    assert again.case(key) == saved
    assert again.broken_trail_entries() == ()
    again.close()


def test_an_empty_file_becomes_a_record(file: Path) -> None:
    file.parent.mkdir()
    file.touch()
    record = open_record(file)
    assert record.listings() == ()
    record.close()


def test_a_copy_that_lost_its_write_ahead_log_gets_one_again(file: Path, tmp_path: Path) -> None:
    record = open_record(file)
    key = _fill(record)
    copied = tmp_path / "copy.db"
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("VACUUM INTO ?", (str(copied),))
    record.close()
    restored = open_record(copied)
    assert restored.case(key).operation == ordinary_operation()
    restored.close()
    with closing(sqlite3.connect(copied)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_commits_reach_the_disk_and_keys_are_checked(sqlite_record: SqlRecord) -> None:
    with sqlite_record._engine.connect() as connection:  # noqa: SLF001 - the settings are not visible from outside
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2  # FULL
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_half_a_character_is_refused_before_anything_is_saved(sqlite_record: SqlRecord) -> None:
    with pytest.raises(InputError, match="half a character"), ordinary_act(sqlite_record) as act:
        act.put_patient(ordinary_patient(name="Ada \ud800"))
    assert sqlite_record.trail() == ()


# Nothing recorded is ever changed


@pytest.mark.parametrize("table", GUARDED)
@pytest.mark.parametrize(
    "attempt",
    [
        "UPDATE {table} SET number = number + 1000",
        "UPDATE OR REPLACE {table} SET rowid = 1",
        "DELETE FROM {table}",
        "INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        "REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
        "INSERT INTO {table} SELECT * FROM {table} WHERE true ON CONFLICT DO UPDATE SET number = 7",
    ],
)
def test_another_program_cannot_change_what_is_recorded(
    stranger: sqlite3.Connection, table: str, attempt: str
) -> None:
    before = stranger.execute(f"SELECT * FROM {table}").fetchall()  # noqa: S608 - our own table names
    assert before
    with pytest.raises(sqlite3.IntegrityError, match=SENTENCE):
        stranger.execute(attempt.format(table=table))
    assert stranger.execute(f"SELECT * FROM {table}").fetchall() == before  # noqa: S608 - our own table names


def test_every_version_of_an_eye_stays(sqlite_record: SqlRecord, file: Path) -> None:
    open_case(sqlite_record)
    for length_mm in (23.6, 23.7):
        with ordinary_act(sqlite_record) as act:
            act.put_eye("demo-0042", ordinary_eye(axial_length_mm=length_mm))
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT count(*) FROM eyes").fetchone() == (3,)


def test_every_version_of_the_looks_at_an_axis_stays(sqlite_record: SqlRecord, file: Path) -> None:
    key = open_case(sqlite_record)
    for meridian_deg in (92.0, 94.0):
        with ordinary_act(sqlite_record) as act:
            act.put_axis_visits(key, (ordinary_axis_visit(lens_meridian_deg=meridian_deg),))
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT count(*) FROM axis_visits").fetchone() == (2,)


@pytest.mark.parametrize(
    ("tampering", "found"),
    [
        ("UPDATE trail SET who = 'Somebody Else' WHERE number = 2", (2,)),
        ("UPDATE trail SET detail = '22.0 D' WHERE number = 3", (3,)),
        ("UPDATE trail SET at = '2026-01-01T00:00:00+00:00' WHERE number = 1", (1,)),
        ("UPDATE trail SET digest = 'f' WHERE number = 2", (2, 3)),
        ("DELETE FROM trail WHERE number = 2", (3,)),
        ("DELETE FROM trail WHERE number = 1", (2,)),
    ],
)
def test_a_broken_chain_is_found(
    sqlite_record: SqlRecord, file: Path, tampering: str, found: tuple[int, ...]
) -> None:
    for subject in "abcd":
        with ordinary_act(sqlite_record, subject):
            pass
    with closing(sqlite3.connect(file)) as connection:
        connection.executescript("DROP TRIGGER trail_refuse_update; DROP TRIGGER trail_refuse_delete;")
        connection.execute(tampering)
        connection.commit()
    assert sqlite_record.broken_trail_entries() == found


# Many at once


def test_reading_does_not_wait_for_a_writer(sqlite_record: SqlRecord) -> None:
    key = _fill(sqlite_record)
    writing, done = Event(), Event()

    def write() -> None:
        with ordinary_act(sqlite_record) as act:
            act.put_eye("demo-0042", ordinary_eye(axial_length_mm=25.0))
            writing.set()
            done.wait(timeout=60)

    writer = Thread(target=write)
    writer.start()
    assert writing.wait(timeout=60)
    case = sqlite_record.case(key)  # would fail with "in use" if it had to wait
    done.set()
    writer.join()
    assert case.eye == ordinary_eye()
    assert sqlite_record.case(key).eye == ordinary_eye(axial_length_mm=25.0)


def test_two_who_opened_the_same_file_see_each_other(sqlite_record: SqlRecord, file: Path) -> None:
    other = open_record(file)
    key = open_case(other)
    assert sqlite_record.case(key) == ordinary_case()
    other.close()


def test_a_writer_who_would_wait_for_ever_is_told(
    file: Path, stranger: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite_file, "BUSY_AFTER_S", 0.05)
    record = open_record(file)
    stranger.execute("BEGIN IMMEDIATE")
    with pytest.raises(StorageError, match=r"in use by another program.*try again"), ordinary_act(record):
        pass
    stranger.execute("ROLLBACK")
    with ordinary_act(record):
        pass
    record.close()


# Files that are no record


def test_a_file_that_is_no_database_says_so(file: Path) -> None:
    file.parent.mkdir()
    file.write_bytes(b"patient_key,eye\n" * 500)
    with pytest.raises(StorageError, match="not a database at all"):
        open_record(file)
    assert file.read_bytes() == b"patient_key,eye\n" * 500


def test_a_database_of_another_program_is_left_alone(file: Path) -> None:
    file.parent.mkdir()
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("CREATE TABLE recipes (title TEXT)")
    before = file.read_bytes()
    with pytest.raises(StorageError, match="belongs to another program"):
        open_record(file)
    assert file.read_bytes() == before


def test_a_folder_in_place_of_the_file_says_so(file: Path) -> None:
    file.mkdir(parents=True)
    with pytest.raises(StorageError, match="cannot be opened"):
        open_record(file)


def test_a_file_in_place_of_the_folder_says_so(file: Path) -> None:
    file.parent.touch()
    with pytest.raises(StorageError, match="folder"):
        open_record(file)


def _damage(file: Path, table: str) -> None:
    """Overwrite the page where a table starts."""
    with closing(sqlite3.connect(file)) as connection:
        (size,) = connection.execute("PRAGMA page_size").fetchone()
        (page,) = connection.execute(
            "SELECT rootpage FROM sqlite_master WHERE type = 'table' AND name = ?", (table,)
        ).fetchone()
    with file.open("r+b") as opened:
        opened.seek((page - 1) * size)
        opened.write(b"\xa5" * size)


@pytest.mark.parametrize("table", [VERSION_TABLE, "eyes", "trail"])
def test_a_damaged_file_says_so(file: Path, table: str) -> None:
    record = open_record(file)
    key = _fill(record)
    record.close()
    _damage(file, table)
    with pytest.raises(StorageError, match="damaged"):
        _read_everything(file, key)


def _read_everything(file: Path, key: str) -> None:
    with closing(open_record(file)) as record:
        record.case(key)
        record.broken_trail_entries()


@pytest.fixture
def ordinary_user() -> Iterator[None]:
    """For the super-user no folder is read-only; be somebody else for a while."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    yield
    os.seteuid(0)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    folder = Path(tempfile.mkdtemp(prefix="zonule-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.fixture
def read_only_folder(open_folder: Path) -> Path:
    open_folder.chmod(0o555)
    return open_folder


@pytest.mark.usefixtures("ordinary_user")
def test_a_read_only_folder_says_so(read_only_folder: Path) -> None:
    for file in (read_only_folder / "record.db", read_only_folder / "deeper" / "record.db"):
        with pytest.raises(StorageError, match="read-only for you"):
            open_record(file)


@pytest.fixture
def read_only_file(open_folder: Path) -> Path:
    file = open_folder / "record.db"
    open_record(file).close()
    file.chmod(0o444)
    open_folder.chmod(0o555)
    return file


@pytest.mark.usefixtures("ordinary_user")
def test_a_read_only_file_says_so(read_only_file: Path) -> None:
    with pytest.raises(StorageError, match=r"cannot be (written|opened).*folder"):
        open_record(read_only_file)


def test_a_record_that_is_up_to_date_opens_without_alembic(file: Path) -> None:
    open_record(file).close()
    program = (
        "import sys; from pathlib import Path; from zonule.storage.sql_record import open_record;"
        "open_record(Path(sys.argv[1])).close(); print('alembic' in sys.modules)"
    )
    told = subprocess.run(  # noqa: S603 - our own interpreter and program
        [sys.executable, "-c", program, str(file)], capture_output=True, text=True, check=True
    )
    assert told.stdout == "False\n"
