"""Rows of a delimited text file, as a spreadsheet shows them: numbered, by header, whole or refused."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from zonule.case.finding import Finding, note
from zonule.exchange.refusal import FORMAT, RefusedFileError, did_you_mean, problem, refused, shown

_COMMA_DECIMAL = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_POINT_DECIMAL = re.compile(r"[+-]?\d+\.\d+", re.ASCII)
_MARKS_OF_OTHER_FILES = (
    (b"%PDF", "The file is a PDF, a picture of numbers. Ask for the numbers themselves, as CSV or DICOM."),
    (b"PK\x03\x04", "The file is a spreadsheet or an archive. Save the sheet as CSV (UTF-8)."),
    (b"\xd0\xcf\x11\xe0", "The file is a spreadsheet of an old kind. Save the sheet as CSV (UTF-8)."),
    (b"\xff\xfe", "The file is text in UTF-16. Save it again as CSV in UTF-8."),
    (b"\xfe\xff", "The file is text in UTF-16. Save it again as CSV in UTF-8."),
)


@dataclass(frozen=True, slots=True)
class Row:
    """One row, with the cells that are not empty by their header."""

    number: int
    """As a spreadsheet shows it; the headers are row 1."""
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """A file's rows, and findings about the rows that could not be laid out."""

    file: str
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]
    decimal_mark: str = "."


def row_place(file: str, number: int, field: str = "") -> str:
    """Where something stands, in words.

    Examples
    --------
    >>> row_place("clinic.csv", 7, "eye")
    'clinic.csv, row 7, eye'
    """
    return f"{file}, row {number}" + (f", {field}" if field else "")


def read_table(
    data: bytes,
    *,
    file: str,
    known: Collection[str],
    required: Collection[str],
    numeric: Collection[str],
    limit_bytes: int,
) -> Table:
    """Read a delimited text file.

    Parameters
    ----------
    data
        The file: UTF-8 with or without byte order mark, separated by commas, or by semicolons.
    file
        Its name, for messages.
    known, required
        Headers that may, and must, be there.
    numeric
        Headers of numbers, by which the decimal mark is told.
    limit_bytes
        Largest size accepted.

    Returns
    -------
    Table
        Rows of the right length; each other row is a finding.

    Raises
    ------
    RefusedFileError
        When the file as a whole cannot be understood.
    """
    text = _decoded(data, file, limit_bytes)
    delimiter = _delimiter(text, file)
    lines = _lines(text, delimiter, file)
    headers = _headers(lines, file, known, required)
    rows, findings = _laid_out(lines[1:], headers, file)
    mark = _decimal_mark(rows, numeric, file) if delimiter == ";" else "."
    if delimiter == ";":
        findings.insert(0, _semicolons(mark, file))
    if not text.endswith(("\n", "\r")) and rows:
        findings.append(_no_line_end(file, len(lines)))
    return Table(file, tuple(rows), tuple(findings), mark)


def _decoded(data: bytes, file: str, limit_bytes: int) -> str:
    if len(data) > limit_bytes:
        raise refused("file-too-large", f"The file is larger than {limit_bytes // 1_000_000} MB.", file)
    for mark, sentence in _MARKS_OF_OTHER_FILES:
        if data.startswith(mark):
            raise refused("another-kind-of-file", sentence, file)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refused(
            "not-utf-8", "The file is not text in UTF-8. Save it again as CSV in UTF-8.", file
        ) from None
    if "\x00" in text:
        raise refused("not-text", "The file holds zero bytes and is not text.", file)
    if not text.strip():
        raise refused("empty-file", "The file is empty.", file)
    return text


def _delimiter(text: str, file: str) -> str:
    """Comma or semicolon, told by the headers alone, since these never hold either."""
    first = text.splitlines()[0]
    if "," in first and ";" in first:
        raise refused(
            "ambiguous-separator",
            "The headers are separated by commas and by semicolons. Use one of them.",
            f"{file}, row 1",
        )
    if "\t" in first:
        raise refused(
            "ambiguous-separator",
            "The headers are separated by tabs. Save the file with commas.",
            f"{file}, row 1",
        )
    return ";" if ";" in first else ","


def _lines(text: str, delimiter: str, file: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        sentence = (
            f"The file cannot be divided into cells ({error}). A quotation mark is not closed, or the file "
            "is half-written; fetch it again."
        )
        raise refused("file-cut-short", sentence, file) from None


def _headers(
    lines: list[list[str]], file: str, known: Collection[str], required: Collection[str]
) -> list[str]:
    headers = [cell.strip() for cell in lines[0]]
    where = f"{file}, row 1"
    problems = [
        *(_unknown(header, where, known) for header in headers if header not in known),
        *(_doubled(header, where) for header, count in Counter(headers).items() if count > 1),
        *(_absent(header, where) for header in required if header not in headers),
    ]
    if problems:
        raise RefusedFileError(problems)
    return headers


def _unknown(header: str, where: str, known: Collection[str]) -> Finding:
    if not header:
        return problem("unknown-header", "A column has no header. Name it or delete the column.", where)
    sentence = f"The header {shown(header)} is not known.{did_you_mean(header, known)}"
    return problem(
        "unknown-header", f"{sentence} Correct it or delete the column.", f"{where}, {shown(header)}"
    )


def _doubled(header: str, where: str) -> Finding:
    return problem("doubled-header", f"The header {shown(header)} stands twice. Keep one.", where)


def _absent(header: str, where: str) -> Finding:
    return problem("missing-header", f"There is no column {shown(header)}, which is needed. Add it.", where)


def _laid_out(lines: Iterable[list[str]], headers: list[str], file: str) -> tuple[list[Row], list[Finding]]:
    rows: list[Row] = []
    findings: list[Finding] = []
    for number, line in enumerate(lines, start=2):
        cells = [cell.strip() for cell in line]
        if not any(cells):
            continue
        if len(cells) == len(headers):
            filled = {header: cell for header, cell in zip(headers, cells, strict=True) if cell}
            rows.append(Row(number, filled))
        else:
            findings.append(_wrong_count(len(cells), len(headers), row_place(file, number)))
    return rows, findings


def _wrong_count(count: int, expected: int, where: str) -> Finding:
    few_or_many = "too many" if count > expected else "too few"
    sentence = (
        f"This row has {count} cells where the headers have {expected}: a separator {few_or_many}. Put a "
        "text that holds one in quotes, and write decimals with a point. The row is not taken."
    )
    return problem("wrong-number-of-cells", sentence, where)


def _decimal_mark(rows: Iterable[Row], numeric: Collection[str], file: str) -> str:
    cells = [cell for row in rows for header, cell in row.cells.items() if header in numeric]
    with_comma = next((cell for cell in cells if _COMMA_DECIMAL.fullmatch(cell)), None)
    with_point = next((cell for cell in cells if _POINT_DECIMAL.fullmatch(cell)), None)
    if with_comma and with_point:
        sentence = (
            f"Numbers are written both as {with_comma} and as {with_point}, so a comma could mean two "
            "things. Write all of them one way."
        )
        raise refused("ambiguous-decimals", sentence, file)
    return "," if with_comma else "."


def _semicolons(mark: str, file: str) -> Finding:
    name = {",": "comma", ".": "point"}[mark]
    sentence = f"The cells are separated by semicolons, and decimals are read with a {name}."
    return note("semicolons", sentence, file, FORMAT)


def _no_line_end(file: str, last: int) -> Finding:
    sentence = "The last row does not end in a line break. Check that the file was written to its end."
    return note("no-line-end", sentence, row_place(file, last), FORMAT)
