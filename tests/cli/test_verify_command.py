"""zonule verify: every check against the outside on this installation, green and red."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cli.command import here
from docs.manual import code_words, table_rows
from verify.mutants import in_place, mutants_of
from zonule import wiring
from zonule.checks import report as reports
from zonule.checks.report import WHAT_GREEN_DOES_NOT_MEAN, verify
from zonule.checks.rows import Row, Status, all_rows
from zonule.cli.output import BLOCKED, DONE, WRONG_CALL

AT = datetime(2026, 11, 16, 7, 2, tzinfo=UTC)
KEYS = {
    "zonule",
    "findings",
    "checked_on",
    "software_version",
    "python",
    "numpy",
    "scipy",
    "platform",
    "checks",
    "passed",
    "failed",
}
KEYS_OF_A_CHECK = {
    "check",
    "source",
    "table",
    "status",
    "figure",
    "unit",
    "expected",
    "tolerance",
    "passed",
    "reason",
    "provenance",
    "where",
}


def asked_for(name: str) -> Row:
    return next(row for row in all_rows() if row.quantity == name)


@pytest.fixture
def few_rows(monkeypatch: pytest.MonkeyPatch) -> list[Row]:
    """Rows that the command asks for in place of all."""
    rows = [asked_for("keratometric_power_dpt"), asked_for("law_within")]
    monkeypatch.setattr(reports, "all_rows", lambda: tuple(rows))
    return rows


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_this_installation_passes_every_check() -> None:
    answer = here("verify")
    assert answer.status == DONE, answer.out
    assert f"All {len(all_rows())} checks pass on this installation." in answer.out
    assert "FAILED" not in answer.out
    assert answer.out.count("passed\n") + answer.out.count("passed ") >= len(all_rows())
    assert squeezed(WHAT_GREEN_DOES_NOT_MEAN) in squeezed(answer.out)


def test_what_is_worth_most_is_told_first() -> None:
    out = here("verify").out
    assert out.index(", published: ") < out.index(", independent: ") < out.index(", from memory: ")
    assert out.rindex(", published: ") < out.index(", independent: ")


def test_the_report_says_when_and_with_what_it_was_made(few_rows: list[Row]) -> None:
    out = here("verify").out
    assert str(datetime.now().astimezone().year) in out.splitlines()[1]
    assert f"Python {sys.version.split()[0]}" in out
    assert "SciPy" in out
    assert len(few_rows) == 2


def test_a_check_is_told_with_source_status_figure_tolerance_and_reason(few_rows: list[Row]) -> None:
    out = squeezed(here("verify").out)
    assert "lundstrom-2018, published: abstract: 72.7 % of 282,811 eyes within 0.5 D" in out
    assert f"Tolerance 0.0005 share: {few_rows[1].reason}" in out
    assert "Share of eyes within 0.5 D by the law of spread 0.72695 0.727 passed" in out


def test_no_line_is_wider_than_a_page(few_rows: list[Row]) -> None:
    assert few_rows
    assert max(len(line) for line in here("verify").out.splitlines()) <= 100


def test_the_answer_as_data_keeps_to_the_contract() -> None:
    answer = here("verify", "--json")
    data = answer.data
    assert answer.status == DONE
    assert set(data) == KEYS
    assert data["findings"] == []
    assert (data["passed"], data["failed"]) == (len(all_rows()), 0)
    assert datetime.fromisoformat(data["checked_on"]).tzinfo is not None
    for check in data["checks"]:
        assert set(check) == KEYS_OF_A_CHECK
        assert check["passed"] is True
        assert abs(check["figure"] - check["expected"]) <= check["tolerance"]
        assert check["status"] in set(Status)


def test_every_key_of_the_data_is_on_the_page() -> None:
    rows = table_rows("docs/reference/plan-json.md", "zonule verify --json")
    listed = {word for cells in rows for word in code_words(cells[0])}
    assert listed == KEYS | KEYS_OF_A_CHECK


def test_a_check_that_fails_blocks_and_is_told_first(few_rows: list[Row]) -> None:
    few_rows[0] = replace(few_rows[0], expected=44.0, expected_text="44.0")
    answer = here("verify")
    assert answer.status == BLOCKED
    assert "1 of 2 checks fails. Plan no eye here until the reason is known." in answer.out
    assert "45.0000000000" in answer.out
    assert "FAILED" in answer.out
    assert "STOP: Keratometric power of a radius of 7.5 mm: this installation gives 45 D" in squeezed(
        answer.out
    )


def test_a_check_that_fails_is_a_finding_in_the_data(few_rows: list[Row]) -> None:
    few_rows[0] = replace(few_rows[0], expected=44.0, expected_text="44.0")
    answer = here("verify", "--json")
    (finding,) = answer.data["findings"]
    assert answer.status == BLOCKED
    assert (finding["severity"], finding["code"]) == ("blocking", "check-failed")
    assert (finding["where"], finding["source"]) == (few_rows[0].where, few_rows[0].source)
    assert [check["passed"] for check in answer.data["checks"]] == [False, True]
    assert (answer.data["passed"], answer.data["failed"]) == (1, 1)


@pytest.mark.parametrize("radius", ["0.0", "nan"])
def test_a_check_without_an_answer_fails_and_says_why(few_rows: list[Row], radius: str) -> None:
    few_rows[0] = replace(few_rows[0], inputs={"anterior_radius_mm": radius})
    answer = here("verify", "--json")
    first = answer.data["checks"][0]
    assert answer.status == BLOCKED
    assert "figure" not in first
    assert first["trouble"]
    assert "FAILED" in here("verify").out


def test_a_coefficient_changed_in_its_last_digit_turns_the_command_red() -> None:
    mutant = next(one for one in mutants_of("lens_power/srk_t.py") if one.number == "1.716")
    with in_place(mutant):
        answer = here("verify", "--json")
    assert answer.status == BLOCKED
    assert {check["source"] for check in answer.data["checks"] if not check["passed"]} >= {
        "aramberri-2005",
        "retzlaff-1990",
    }


def test_the_report_is_written_as_pdf_beside_the_answer(tmp_path: Path, few_rows: list[Row]) -> None:
    path = tmp_path / "verification.pdf"
    answer = here("verify", "--pdf", path)
    assert (answer.status, len(few_rows)) == (DONE, 2)
    assert path.read_bytes().startswith(b"%PDF")
    assert f"Report: {path}" in answer.out.replace("\n", "")


def test_a_pdf_that_cannot_be_written_is_refused_in_a_sentence(tmp_path: Path, few_rows: list[Row]) -> None:
    answer = here("verify", "--json", "--pdf", tmp_path / "absent" / "verification.pdf")
    assert (answer.status, len(few_rows)) == (WRONG_CALL, 2)
    assert "cannot be written" in answer.err


def test_the_same_moment_gives_the_same_report() -> None:
    rows = [row for row in all_rows() if row.status is Status.PUBLISHED]
    assert wiring.verification_as_dict(verify(AT, rows)) == wiring.verification_as_dict(verify(AT, rows))


def test_other_commands_do_not_pay_for_the_checks() -> None:
    asks = (
        "import sys, zonule.cli.main; print([m for m in sys.modules if 'checks.' in m or m == 'scipy.stats'])"
    )
    done = subprocess.run([sys.executable, "-c", asks], capture_output=True, text=True, check=True)  # noqa: S603 - our own interpreter
    assert [name for name in done.stdout.strip("[]\n").split(", ") if "zonule.checks" in name] == []
    assert "scipy.stats" not in done.stdout
