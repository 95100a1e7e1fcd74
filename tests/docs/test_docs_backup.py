"""The backup that the manual describes, tried on a record whose newest act is not yet in its main file."""

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from docs.manual import blocks
from zonule.case.patient import Patient
from zonule.errors import StorageError
from zonule.storage.sql_record import SqlRecord, open_record

PAGE = "docs/how-to/back-up-and-restore.md"
NOW = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)


def add(record: SqlRecord, key: str) -> None:
    with record.act(who="tester", verb="import", subject=key, at=NOW) as act:
        act.put_patient(Patient(key))


def back_up(record: Path, copy: Path, folder: Path) -> subprocess.CompletedProcess[str]:
    (script,) = blocks(PAGE, "python")
    (folder / "back_up.py").write_text(script, encoding="utf-8")
    command = [sys.executable, "back_up.py", str(record), str(copy)]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)  # noqa: S603 - our own page


def holds(copy: Path, key: str) -> bool:
    with closing(open_record(copy)) as opened:
        return opened.patient(key) is not None


def test_the_backup_on_the_page_holds_what_a_plain_copy_misses(tmp_path: Path) -> None:
    path, plain, backup = tmp_path / "record.sqlite3", tmp_path / "plain.sqlite3", tmp_path / "backup.sqlite3"
    with closing(open_record(path)) as record:
        add(record, "earlier")
    with closing(open_record(path)) as record:
        add(record, "newest")
        assert (tmp_path / "record.sqlite3-wal").stat().st_size > 0
        shutil.copy(path, plain)
        done = back_up(path, backup, tmp_path)
        assert done.returncode == 0, done.stderr
        assert record.patient("newest") is not None
    assert holds(plain, "earlier")
    assert not holds(plain, "newest")
    assert holds(backup, "earlier")
    assert holds(backup, "newest")


def test_a_backup_is_whole_for_its_owner_alone_and_still_refuses_changes(tmp_path: Path) -> None:
    path, backup = tmp_path / "record.sqlite3", tmp_path / "backup.sqlite3"
    with closing(open_record(path)) as record:
        add(record, "first")
        assert "entries in the trail: 1" in back_up(path, backup, tmp_path).stdout
    assert backup.stat().st_mode & 0o777 == 0o600
    with closing(open_record(backup)) as opened:
        assert opened.broken_trail_entries() == ()
    with (
        closing(sqlite3.connect(backup)) as connection,
        pytest.raises(sqlite3.IntegrityError, match="append-only"),
    ):
        connection.execute("DELETE FROM trail")


def test_a_backup_never_overwrites_an_earlier_one(tmp_path: Path) -> None:
    path, backup = tmp_path / "record.sqlite3", tmp_path / "backup.sqlite3"
    with closing(open_record(path)) as record:
        add(record, "first")
    backup.write_bytes(b"earlier")
    done = back_up(path, backup, tmp_path)
    assert done.returncode != 0
    assert "exists" in done.stderr
    assert backup.read_bytes() == b"earlier"


def test_after_a_clean_stop_the_one_file_is_all_there_is(tmp_path: Path) -> None:
    path, plain = tmp_path / "record.sqlite3", tmp_path / "plain.sqlite3"
    with closing(open_record(path)) as record:
        add(record, "newest")
    assert [one.name for one in tmp_path.iterdir()] == ["record.sqlite3"]
    shutil.copy(path, plain)
    assert holds(plain, "newest")


def test_a_restored_file_without_its_old_log_opens_whole(tmp_path: Path) -> None:
    path, backup, home = tmp_path / "record.sqlite3", tmp_path / "backup.sqlite3", tmp_path / "home"
    with closing(open_record(path)) as record:
        add(record, "first")
        assert back_up(path, backup, tmp_path).returncode == 0
    home.mkdir()
    shutil.copy(backup, home / "record.sqlite3")
    with closing(open_record(home / "record.sqlite3")) as opened:
        assert opened.broken_trail_entries() == ()
        add(opened, "after")
        assert opened.patient("first") is not None


def test_a_copy_that_is_no_database_is_refused_when_it_is_opened(tmp_path: Path) -> None:
    torn = tmp_path / "torn.sqlite3"
    with closing(open_record(tmp_path / "record.sqlite3")) as record:
        add(record, "first")
    torn.write_bytes((tmp_path / "record.sqlite3").read_bytes()[:5000])
    with pytest.raises(StorageError):
        holds(torn, "first")
