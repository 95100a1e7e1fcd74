"""The verification report as a reader sees it: read back with poppler's tools."""

from __future__ import annotations

import os
import shutil
import subprocess
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from zonule.case.caution import CAUTION
from zonule.checks.report import WHAT_GREEN_DOES_NOT_MEAN, VerificationReport, verify
from zonule.checks.rows import all_rows
from zonule.drawings.verification import line_of
from zonule.sheets.verification import verification_sheet

AT = datetime(2026, 11, 16, 7, 2, tzinfo=UTC)

pytestmark = pytest.mark.skipif(
    shutil.which("pdftotext") is None and not os.environ.get("CI"),
    reason="poppler-utils, which reads the sheet back, is not installed",
)


@pytest.fixture(scope="module")
def green() -> VerificationReport:
    return verify(AT)


@pytest.fixture(scope="module")
def red() -> VerificationReport:
    rows = list(all_rows())
    rows[3] = replace(rows[3], expected=rows[3].expected + 1.0)
    return verify(AT, rows)


def read(report: VerificationReport, folder: Path, *options: str) -> str:
    path = folder / "report.pdf"
    path.write_bytes(verification_sheet(report))
    command = ["pdftotext", *options, str(path), "-"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)  # noqa: S603 - our own words
    return " ".join(done.stdout.split())


def test_the_report_says_what_it_found_when_and_what_that_does_not_mean(
    green: VerificationReport, tmp_path: Path
) -> None:
    first = read(green, tmp_path, "-l", "1")
    assert "Verification report 16 November 2026, 07:02 UTC" in first
    assert f"All {len(all_rows())} checks pass on this installation." in first
    assert " ".join(WHAT_GREEN_DOES_NOT_MEAN.split()) in first
    assert CAUTION in first
    assert "Checks that fail" not in first


def test_every_check_is_printed_with_its_source_and_its_tolerance(
    green: VerificationReport, tmp_path: Path
) -> None:
    text = read(green, tmp_path, "-layout")
    flowing = read(green, tmp_path)
    for check in green.checks:
        row = check.row
        assert row.source in text
        assert " ".join(row.reason.split()) in flowing or row.reason[:40] in flowing
        assert line_of(check).words.split(",")[0][:30] in flowing


def test_checks_that_fail_stand_on_the_first_page(red: VerificationReport, tmp_path: Path) -> None:
    first = read(red, tmp_path, "-l", "1")
    assert "1 of" in first
    assert "checks fails. Plan no eye here until the reason is known." in first
    assert first.index("Checks that fail") < first.index("Every check")
    assert line_of(red.failed[0]).words in first
    assert "FAILED" in read(red, tmp_path)


def test_pages_are_numbered_through(green: VerificationReport, tmp_path: Path) -> None:
    text = read(green, tmp_path)
    count = text.split("page 1 of ")[1].split(" ")[0]
    assert f"page {count} of {count}" in text


def test_the_same_report_gives_the_same_bytes(red: VerificationReport) -> None:
    assert verification_sheet(red) == verification_sheet(red)
