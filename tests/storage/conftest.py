"""Records to try the contract on."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fakes.memory_record import MemoryRecord
from zonule.storage.sql_record import SqlRecord, open_record
from zonule.workflow.ports import Record


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "clinic" / "record.db"


@pytest.fixture
def sqlite_record(file: Path) -> Iterator[SqlRecord]:
    record = open_record(file)
    yield record
    record.close()


@pytest.fixture(params=["memory", "sqlite"])
def record(request: pytest.FixtureRequest) -> Record:
    if request.param == "memory":
        return MemoryRecord()
    opened: SqlRecord = request.getfixturevalue("sqlite_record")
    return opened
