"""The store of outside values is read strictly, and each value is asked for."""

from dataclasses import replace
from pathlib import Path

import pytest

from zonule.checks.questions import MODULES, QUESTIONS
from zonule.checks.report import in_words, run
from zonule.checks.rows import REQUIRED, Row, Status, all_rows, rows_of
from zonule.errors import ConfigurationError

WHOLE = {
    "source": "normal-law",
    "table": "somewhere",
    "quantity": "keratometric_power_dpt",
    "anterior_radius_mm": "7.5",
    "expected": "45.0",
    "tolerance": "1e-9",
    "unit": "D",
    "reason": "a definition",
    "status": "independent",
    "provenance": "arithmetic",
}


def written(tmp_path: Path, cells: dict[str, str], extra: str = "") -> Path:
    path = tmp_path / "values.csv"
    path.write_text(f"{','.join(cells)}\n{','.join(cells.values())}{extra}\n", encoding="utf-8")
    return path


def test_a_whole_row_is_read_as_it_stands(tmp_path: Path) -> None:
    (row,) = rows_of(written(tmp_path, WHOLE))
    assert (row.expected, row.tolerance, row.status) == (45.0, 1e-9, Status.INDEPENDENT)
    assert row.inputs == {"anterior_radius_mm": "7.5"}
    assert row.where == "values.csv, line 2"
    assert run(row).passed


@pytest.mark.parametrize("column", REQUIRED)
def test_a_row_without_one_of_its_grounds_is_an_error(tmp_path: Path, column: str) -> None:
    with pytest.raises(ConfigurationError, match=f"line 2: {column} is missing"):
        list(rows_of(written(tmp_path, {**WHOLE, column: ""})))


@pytest.mark.parametrize("column", REQUIRED)
def test_a_file_without_one_of_the_columns_is_an_error(tmp_path: Path, column: str) -> None:
    fewer = {name: text for name, text in WHOLE.items() if name != column}
    with pytest.raises(ConfigurationError, match=f"no column {column}"):
        list(rows_of(written(tmp_path, fewer)))


@pytest.mark.parametrize(
    ("column", "text", "said"),
    [
        ("tolerance", "0", "above 0"),
        ("tolerance", "-1e-4", "above 0"),
        ("tolerance", "wide", "no number"),
        ("tolerance", "inf", "no number"),
        ("expected", "about 45", "no number"),
        ("expected", "nan", "no number"),
        ("status", "proven", "status is one of published, independent, from memory"),
    ],
)
def test_a_row_that_makes_no_sense_is_an_error(tmp_path: Path, column: str, text: str, said: str) -> None:
    with pytest.raises(ConfigurationError, match=said):
        list(rows_of(written(tmp_path, {**WHOLE, column: text})))


def test_a_row_with_a_cell_too_many_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(ConfigurationError, match="too many"):
        list(rows_of(written(tmp_path, WHOLE, extra=",stray")))


def test_an_input_that_a_question_needs_is_never_assumed(tmp_path: Path) -> None:
    (row,) = rows_of(written(tmp_path, WHOLE))
    with pytest.raises(ConfigurationError, match="line 2: keratometric_power_dpt cannot be asked without"):
        run(replace(row, inputs={"other": "1"}))
    with pytest.raises(ConfigurationError, match="line 2: keratometric_power_dpt needs vertex_mm"):
        row.number("vertex_mm")


def test_every_quantity_has_a_question_and_every_question_is_asked() -> None:
    assert {row.quantity for row in all_rows()} == set(QUESTIONS)


def test_every_row_is_told_in_words_that_differ_from_those_of_all_others_of_its_table() -> None:
    told = [(row.source, row.table, row.expected_text, in_words(row)) for row in all_rows()]
    assert [one for one in set(told) if told.count(one) > 1] == []
    assert [words for *_, words in told if "{" in words or "_" in words] == []


@pytest.mark.parametrize("row", all_rows(), ids=lambda row: f"{row.file}:{row.line}")
def test_a_check_that_is_off_by_twice_its_tolerance_fails(row: Row) -> None:
    assert not run(replace(row, expected=row.expected + 2.5 * row.tolerance)).passed
    assert not run(replace(row, expected=row.expected - 2.5 * row.tolerance)).passed


def test_no_question_is_defined_in_two_modules() -> None:
    names = [name for module in MODULES for name in module.QUESTIONS]
    assert len(names) == len(set(names))
