"""The other commands, their help, and how they end."""

from __future__ import annotations

import csv
import json
import re
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from urllib.request import Request, urlopen

import pytest
from typer.testing import CliRunner

from cli.command import DICOM, EXAMPLES, environment, free_port, here, running, zonule
from zonule.cli import main
from zonule.cli.main import app
from zonule.storage.sql_record import open_record

COMMANDS = ("plan", "import", "sheet", "audit", "serve", "demo")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str) -> None:
    shown = CliRunner().invoke(app, [command, "--help"])
    assert shown.exit_code == 0
    assert f"Example: zonule {command}" in shown.output


def test_help_lists_every_command() -> None:
    shown = CliRunner().invoke(app, ["--help"]).output
    assert all(re.search(rf"^  {command}\b", shown, re.MULTILINE) for command in COMMANDS)


@pytest.mark.parametrize(
    "arguments",
    [
        ["nothing"],
        ["plan"],
        ["plan", "a", "b"],
        ["--nothing"],
        ["serve", "--port", "80"],
        ["serve", "--port", "x"],
    ],
)
def test_a_wrong_call_ends_with_two_and_a_sentence(arguments: list[str]) -> None:
    answer = here(*arguments)
    assert answer.status == 2
    assert answer.err
    assert "Traceback" not in answer.err


def test_a_table_brought_in_twice_adds_nothing_the_second_time(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    first = zonule("import", EXAMPLES / "clinic.csv", "--record", record, "--json")
    assert first.status == 3
    assert len(first.data["added"]) == 7
    assert any(
        "row 7" in one["where"] and "axial_length_mm" in one["where"] for one in first.data["findings"]
    )
    second = zonule("import", EXAMPLES / "clinic.csv", "--record", record, "--json")
    assert second.data["added"] == []
    opened = open_record(record)
    assert len(opened.listings()) == 7
    assert opened.broken_trail_entries() == ()
    opened.close()
    words = zonule("import", EXAMPLES / "clinic.csv", "--record", record)
    assert words.out.startswith("clinic.csv: 0 eyes added")


def test_rows_in_another_order_and_bytes_add_nothing_either(tmp_path: Path) -> None:
    record, again = tmp_path / "record.sqlite3", tmp_path / "again.csv"
    here("import", EXAMPLES / "clinic.csv", "--record", record)
    header, *rows = (EXAMPLES / "clinic.csv").read_text().splitlines()
    again.write_text("\n".join([header, *reversed(rows)]) + "\n")
    answer = here("import", again, "--record", record, "--json")
    assert answer.data["added"] == []
    assert len(answer.data["unchanged"]) == 7


@pytest.mark.parametrize("name", ["synthetic_ker.dcm", "synthetic_oam.dcm"])
def test_a_dicom_object_is_brought_in_once(tmp_path: Path, name: str) -> None:
    record = tmp_path / "record.sqlite3"
    first = here("import", DICOM / name, "--record", record, "--json")
    assert first.status in {0, 3}, first.err
    assert first.data["added"]
    second = here("import", DICOM / name, "--record", record, "--json")
    assert second.data["added"] == []


def test_the_two_dicom_objects_of_one_visit_make_one_eye_each_side(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    for name in ("synthetic_ker.dcm", "synthetic_oam.dcm"):
        assert here("import", DICOM / name, "--record", record).status in {0, 3}
    opened = open_record(record)
    eyes = [opened.case(one.case_key).eye.biometry for one in opened.listings()]
    opened.close()
    assert any(eye.axial_length_mm is not None for eye in eyes)
    assert any(eye.keratometry.mean_k_dpt is not None for eye in eyes)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.99])
@pytest.mark.parametrize("name", ["synthetic_ker.dcm", "synthetic_oam.dcm"])
def test_a_half_written_object_is_refused_and_nothing_is_half_saved(
    tmp_path: Path, name: str, share: float
) -> None:
    record, half = tmp_path / "record.sqlite3", tmp_path / "half.dcm"
    whole = (DICOM / name).read_bytes()
    half.write_bytes(whole[: int(len(whole) * share)])
    answer = here("import", half, "--record", record, "--json")
    assert answer.status == 2
    assert "half.dcm" in answer.err
    assert "Traceback" not in answer.err
    assert answer.data["findings"]
    assert not record.exists() or open_and_count(record) == 0


def open_and_count(record: Path) -> int:
    opened = open_record(record)
    count = len(opened.listings())
    opened.close()
    return count


def test_a_table_cut_in_the_middle_of_a_row_keeps_the_whole_rows_and_names_the_cut_one(
    tmp_path: Path,
) -> None:
    record, half = tmp_path / "record.sqlite3", tmp_path / "half.csv"
    text = (EXAMPLES / "clinic.csv").read_text()
    half.write_text(text[: text.index("clinic-107") + 40])
    answer = here("import", half, "--record", record, "--json")
    assert answer.status == 3
    assert any("row 9" in one["where"] for one in answer.data["findings"])
    assert not any(key.startswith("clinic-107") for key in answer.data["added"])


@pytest.mark.parametrize("command", ["plan", "import", "audit"])
def test_every_command_with_json_answers_a_refusal_with_json(tmp_path: Path, command: str) -> None:
    answer = zonule(command, tmp_path / "absent", "--json", home=tmp_path)
    assert answer.status == 2
    assert answer.data["zonule"] == 1
    assert "absent" in answer.data["findings"][0]["where"]


def test_an_unknown_case_has_no_sheet(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    zonule("import", EXAMPLES / "clinic.csv", "--record", record)
    answer = zonule("sheet", "nobody-left", "--record", record)
    assert (answer.status, answer.out) == (2, "")
    assert "There is no case nobody-left in the record." in answer.err


@pytest.mark.parametrize("arguments", [("sheet", "nobody-left"), ("audit",)])
def test_a_record_that_is_not_there_is_not_made_by_looking(
    tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    record = tmp_path / "mistyped.sqlite3"
    answer = here(*arguments, "--record", record)
    assert answer.status == 2
    assert "There is no record at" in answer.err
    assert not record.exists()


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="pdfinfo is not installed (poppler-utils)")
def test_a_sheet_is_one_page_and_written_whole(tmp_path: Path) -> None:
    record, sheet = tmp_path / "record.sqlite3", tmp_path / "sheet.pdf"
    zonule("import", EXAMPLES / "clinic.csv", "--record", record)
    answer = zonule("sheet", "clinic-101-right", "--record", record, "--out", sheet)
    assert (answer.status, answer.out) == (0, f"Theatre sheet: {sheet}\n")
    said = subprocess.run(["pdfinfo", str(sheet)], capture_output=True, text=True, check=True).stdout  # noqa: S603, S607 - a program of the test tools
    assert re.search(r"^Pages:\s+1$", said, re.MULTILINE)
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []
    nowhere = zonule("sheet", "clinic-101-right", "--record", record, "--out", tmp_path / "no" / "sheet.pdf")
    assert nowhere.status == 2
    assert "cannot be written" in nowhere.err


def test_a_demo_never_overwrites_a_file(tmp_path: Path) -> None:
    there = tmp_path / "mine.sqlite3"
    there.write_text("mine")
    answer = zonule("demo", "--record", there)
    assert (answer.status, answer.out) == (2, "")
    assert "exists" in answer.err
    assert there.read_text() == "mine"


def test_a_file_that_is_no_record_is_refused_and_left_alone(tmp_path: Path) -> None:
    there = tmp_path / "letter.sqlite3"
    there.write_text("Dear colleague, " * 100)
    for arguments in (("audit",), ("import", str(EXAMPLES / "clinic.csv")), ("sheet", "x")):
        answer = here(*arguments, "--record", there)
        assert answer.status == 2
        assert "Traceback" not in answer.err
    assert there.read_text() == "Dear colleague, " * 100


def test_serve_answers_on_this_machine_only_and_says_where(tmp_path: Path) -> None:
    port = free_port()
    with running(tmp_path / "record.sqlite3", port) as server:
        listening = _listening_addresses(port)
        with urlopen(f"http://127.0.0.1:{port}/") as page:
            assert page.status == 200
            assert "No eyes yet" in page.read().decode()
        second = zonule("serve", "--record", tmp_path / "record.sqlite3", "--port", str(port))
        server.send_signal(signal.SIGINT)
        out, err = server.communicate(timeout=20)
    assert listening == {"0100007F"}
    assert f"zonule is at http://127.0.0.1:{port}" in out.decode()
    assert b"Traceback" not in err
    assert second.status == 2
    assert f"Port {port} is in use" in second.err
    assert "Traceback" not in second.err


def _listening_addresses(port: int) -> set[str]:
    """Local addresses in listening state, as the kernel writes them; 127.0.0.1 is 0100007F."""
    found = set()
    for table in ("tcp", "tcp6"):
        path = Path("/proc/net") / table
        for line in path.read_text().splitlines()[1:] if path.exists() else ():
            address, number = line.split()[1].rsplit(":", 1)
            if int(number, 16) == port and line.split()[3] == "0A":
                found.add(address)
    return found


def test_serve_keeps_other_hosts_out_of_a_real_server(tmp_path: Path) -> None:
    port = free_port()
    with running(tmp_path / "record.sqlite3", port):
        request = Request(f"http://127.0.0.1:{port}/", headers={"Host": "evil.example"})
        with pytest.raises(OSError, match="421"):
            urlopen(request)  # noqa: S310 - loopback


def test_an_error_of_ours_ends_with_seventy_and_says_that_nothing_may_be_used(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*_: object) -> None:
        raise RuntimeError("a mistake in the program")

    monkeypatch.setattr("zonule.wiring.read_eye_request", fails)
    monkeypatch.setattr(sys, "argv", ["zonule", "plan", "x.json"])
    with pytest.raises(SystemExit) as ended:
        main.run()
    assert ended.value.code == 70
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(
        "zonule made an error of its own and stopped; nothing it printed should be used."
    )


def test_a_closed_pipe_is_no_error(tmp_path: Path) -> None:
    command = f"{sys.executable} -m zonule.cli.main plan {EXAMPLES / 'ordinary-eye.json'} --json | head -c 1"
    shell = ["/bin/sh", "-c", command]
    done = subprocess.run(shell, capture_output=True, env=environment(tmp_path), check=False)  # noqa: S603 - our own
    assert (done.stdout, done.stderr) == (b"{", b"")


def test_the_record_is_readable_by_its_owner_alone(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    zonule("import", EXAMPLES / "clinic.csv", "--record", record)
    assert record.stat().st_mode & 0o077 == 0
    assert {path.stat().st_mode & 0o077 for path in tmp_path.iterdir()} == {0}


def test_without_a_named_record_the_one_in_the_home_folder_is_used(tmp_path: Path) -> None:
    assert zonule("import", EXAMPLES / "clinic.csv", home=tmp_path).status == 3
    assert (tmp_path / "zonule" / "record.sqlite3").exists()
    answer = zonule("audit", "--json", home=tmp_path)
    assert (answer.status, answer.data["eyes"]) == (0, 0)


def test_who_brought_a_file_in_is_on_the_trail(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    here("import", EXAMPLES / "clinic.csv", "--record", record, "--who", "R. Calder")
    opened = open_record(record)
    (entry,) = opened.trail()
    opened.close()
    assert (entry.who, entry.verb, entry.subject) == ("R. Calder", "import", "clinic.csv")


def test_a_file_whose_name_looks_like_markup_is_only_a_name(tmp_path: Path) -> None:
    odd = tmp_path / "[bold]eyes[x].csv"
    shutil.copy(EXAMPLES / "clinic.csv", odd)
    answer = here("import", odd, "--record", tmp_path / "record.sqlite3")
    assert answer.status == 3, answer.err
    assert answer.out.startswith("[bold]eyes[x].csv: 7 eyes added")


def test_import_reads_standard_input(tmp_path: Path) -> None:
    given = (EXAMPLES / "clinic.csv").read_bytes()
    answer = zonule("import", "-", "--record", tmp_path / "record.sqlite3", "--json", given=given)
    assert len(answer.data["added"]) == 7


def test_data_and_words_agree_on_how_many_eyes_came_in(tmp_path: Path) -> None:
    with (EXAMPLES / "clinic.csv").open() as table:
        rows = list(csv.DictReader(table))
    answer = here("import", EXAMPLES / "clinic.csv", "--record", tmp_path / "record.sqlite3", "--json")
    assert len(answer.data["added"]) == len(rows) - 1
    json.dumps(answer.data, allow_nan=False)
