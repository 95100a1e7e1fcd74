"""zonule import takes a catalogue of lenses too."""

from __future__ import annotations

import json
from pathlib import Path

from cli.command import EXAMPLES, here
from zonule.demo.lenses import CATALOGUE
from zonule.storage.sql_record import open_record

LENSES = EXAMPLES / "lenses" / "invented-lenses.json"


def test_a_catalogue_comes_into_the_record_and_a_second_time_changes_nothing(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    first = here("import", LENSES, "--record", record, "--json")
    assert (first.status, first.data["findings"]) == (0, [])
    assert first.data["added"] == [lens.name for lens in CATALOGUE]
    opened = open_record(record)
    assert opened.lenses() == tuple(sorted(CATALOGUE, key=lambda lens: lens.name))
    assert opened.broken_trail_entries() == ()
    opened.close()
    again = here("import", LENSES, "--record", record)
    assert again.out.startswith("invented-lenses.json: 9 lenses: 0 added, 0 changed, 9 already so.")


def test_a_changed_lens_is_named_with_what_it_was(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    here("import", LENSES, "--record", record)
    changed = json.loads(LENSES.read_text(encoding="utf-8"))
    changed["lenses"][1]["a_constant"] = 118.6
    answer = here("import", "-", "--record", record, given=json.dumps(changed).encode())
    assert answer.status == 0
    assert "0 added, 1 changed, 8 already so" in answer.out
    assert "changed Speedwell Chalk" in answer.out
    assert "a_constant was 118.5, is 118.6" in " ".join(answer.out.split())


def test_a_wrong_catalogue_is_refused_whole_with_every_reason(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    wrong = json.loads(LENSES.read_text(encoding="utf-8"))
    wrong["lenses"][0]["haptic"] = "singel piece"
    wrong["lenses"][1]["geometry"] = {}
    answer = here("import", "-", "--record", record, given=json.dumps(wrong).encode())
    assert answer.status == 2
    assert 'Did you mean "single piece"?' in answer.err
    assert "lenses.1.geometry.thickness_mm" in answer.err
    assert not record.exists()
