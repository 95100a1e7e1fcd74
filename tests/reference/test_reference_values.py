"""Values from outside this code, the ones that `zonule verify` asks for on every installation."""

import pytest

from zonule.checks.report import run
from zonule.checks.rows import Row, all_rows


def told(row: Row) -> str:
    """A row told in a test's name, source first."""
    return "-".join([row.source, row.quantity, *row.inputs.values(), f"{row.file}:{row.line}"])


@pytest.mark.parametrize("row", all_rows(), ids=told)
def test_the_code_gives_the_value_from_outside(row: Row) -> None:
    check = run(row)
    assert check.passed, (
        f"{check.words}: {check.trouble or check.figure} for {row.expected_text} within {row.tolerance_text} "
        f"{row.unit} ({row.source}, {row.table}: {row.reason})"
    )
