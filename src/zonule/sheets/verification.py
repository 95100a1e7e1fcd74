"""The verification report on paper: what this installation was asked, and what it answered."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from zonule.case.caution import CAUTION
from zonule.checks.report import WHAT_GREEN_DOES_NOT_MEAN, VerificationReport
from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import time_text
from zonule.drawings.verification import (
    FAILED,
    Group,
    groups,
    installation_text,
    line_of,
    status_rows,
    tolerance_text,
    verdict_sentence,
)
from zonule.sheets.glyphs import FONT_FAMILY, FONTS, STAND_IN_FAMILY, printable

_TEMPLATE = Path(__file__).with_name("verification.typ")


def verification_sheet(report: VerificationReport) -> bytes:
    """The report as a PDF of several pages; the same report gives the same bytes.

    Parameters
    ----------
    report
        What was asked and answered.

    Returns
    -------
    bytes
        PDF/A-2a and PDF/UA-1.
    """
    import typst

    data = json.dumps(_sheet(report), ensure_ascii=True, sort_keys=True)
    return typst.compile(
        str(_TEMPLATE),
        root=str(_TEMPLATE.parent),
        font_paths=typst.Fonts(include_system_fonts=False, font_paths=[str(FONTS)]),
        sys_inputs={"report": data},
        format="pdf",
        pdf_standards=["a-2a", "ua-1"],
        timestamp=report.checked_at.replace(microsecond=0),
    )


def _sheet(report: VerificationReport) -> dict[str, Any]:
    return {
        "colours": {
            name: getattr(PAPER, name) for name in ("ink", "muted", "grid", "accent", "amber", "amber_wash")
        },
        "fonts": [FONT_FAMILY, STAND_IN_FAMILY],
        "checked": time_text(report.checked_at),
        "installation": printable(installation_text(report)),
        "verdict": verdict_sentence(report),
        "is_red": bool(report.failed),
        "failed": [_failure(check) for check in report.failed],
        "statuses": [list(row) for row in status_rows(report)],
        "not_meant": WHAT_GREEN_DOES_NOT_MEAN,
        "groups": [_group(group) for group in groups(report)],
        "caution": CAUTION,
    }


def _failure(check: Any) -> dict[str, str]:
    line = line_of(check)
    return {
        "words": printable(line.words),
        "figure": printable(line.figure),
        "expected": line.expected,
        "tolerance": printable(tolerance_text(check.row)),
        "source": check.row.source,
    }


def _group(group: Group) -> dict[str, Any]:
    return {
        "source": group.source,
        "status": group.status,
        "table": printable(group.table),
        "tolerance": printable(group.tolerance),
        "lines": [
            {
                "cells": [printable(text) for text in (line.words, line.figure, line.expected, line.verdict)],
                "is_red": line.verdict == FAILED,
            }
            for line in group.lines
        ],
    }
