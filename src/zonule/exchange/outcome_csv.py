"""A table of outcomes, one row an operated eye, for an audit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from zonule.case.eye import CornealSurgery
from zonule.case.finding import Finding
from zonule.case.operation import Complication, Fixation
from zonule.case.outcome import OutcomeRow
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.exchange.cells import Cell, absent_keys, day, eyes_given_twice, number, read_cells, text, word
from zonule.exchange.forms import GlassesForm
from zonule.exchange.records import glasses_record
from zonule.exchange.refraction_remarks import Words, refraction_remarks
from zonule.exchange.refusal import RefusedFileError, file_name, problem
from zonule.exchange.table import Row, Table, read_table, row_place
from zonule.exchange.validation import WHOLE, filled

LIMIT_BYTES = 256_000_000
"""A register's table of about a million eyes."""
REQUIRED = ("patient_key", "eye")

_REFRACTION: dict[str, Cell] = {
    "sphere_dpt": number,
    "cylinder_dpt": number,
    "axis_deg": number,
    "vertex_mm": number,
    "lane_m": number,
}
COLUMNS: dict[str, Cell] = {
    "patient_key": text,
    "eye": word(Side),
    "surgeon": text,
    "operated_on": day,
    "axial_length_mm": number,
    "flat_power_dpt": number,
    "steep_power_dpt": number,
    "steep_meridian_deg": number,
    "keratometric_index": number,
    "anterior_chamber_depth_mm": number,
    "biometer": text,
    "corneal_surgery": word(CornealSurgery),
    "lens_model": text,
    "a_constant": number,
    "lens_power_dpt": number,
    "fixation": word(Fixation),
    "complication": word(Complication),
    "refracted_on": day,
    **_REFRACTION,
    "acuity_logmar": number,
}
"""Every header, and how its cells are read."""

_POSSIBLE = {"lane_m": (0.5, 100.0), "steep_meridian_deg": (0.0, 180.0), "keratometric_index": (1.3, 1.4)}
"""Ranges outside which a cell cannot mean what its header says; the rest is for the audit to judge."""
_NUMERIC = frozenset(name for name, cell in COLUMNS.items() if cell is number)


def read_outcome_csv(data: bytes, *, file: str) -> tuple[tuple[OutcomeRow, ...], tuple[Finding, ...]]:
    """The rows of an outcome table, and a finding for each row that was refused.

    Parameters
    ----------
    data
        The file, at most 256 MB.
    file
        Its name.

    Returns
    -------
    tuple
        Rows in order of the file, and findings. A cell left empty is absent from its row.

    Raises
    ------
    RefusedFileError
        When the file as a whole cannot be understood.
    """
    table = read_table(
        data,
        file=file_name(file),
        known=COLUMNS,
        required=REQUIRED,
        numeric=_NUMERIC,
        limit_bytes=LIMIT_BYTES,
    )
    findings = list(table.findings)
    rows: dict[int, OutcomeRow] = {}
    owners: dict[int, tuple[str, Side]] = {}
    for row in table.rows:
        values, wrong = read_cells(table, row, COLUMNS)
        if "patient_key" in values and "eye" in values:
            owners[row.number] = (values["patient_key"], values["eye"])
        outcome = None if wrong else _outcome(table, row, values, wrong)
        if outcome is not None:
            rows[row.number] = outcome
        findings += wrong
    twice = eyes_given_twice(table, owners)
    kept = tuple(outcome for row_number, outcome in rows.items() if row_number not in twice)
    return kept, (*findings, *twice.values(), *_remarks(table, kept))


def _remarks(table: Table, kept: Iterable[OutcomeRow]) -> Iterator[Finding]:
    """What the rows taken leave unsaid about their refractions."""
    cells = {row.number: row.cells for row in table.rows}
    names = tuple(GlassesForm.model_fields)
    refractions = (
        (
            one.row,
            {name: getattr(one.refraction, name) if name in cells[one.row] else None for name in names},
        )
        for one in kept
        if one.refraction is not None
    )
    yield from refraction_remarks(refractions, Words("Refractions", ""), table.file)


def _outcome(table: Table, row: Row, values: Mapping[str, Any], wrong: list[Finding]) -> OutcomeRow | None:
    """The row as a record; or nothing, with the reason added to `wrong`."""
    wrong += absent_keys(table, row, REQUIRED)
    refraction = _refraction(table, row, values, wrong)
    operated_on, refracted_on = values.get("operated_on"), values.get("refracted_on")
    if operated_on is not None and refracted_on is not None and refracted_on < operated_on:
        sentence = (
            f"The refraction of {refracted_on} was made before the operation of {operated_on}. Correct one "
            "of the dates. The row is not taken."
        )
        wrong.append(problem("impossible-date", sentence, row_place(table.file, row.number, "refracted_on")))
    wrong += _impossible(table, row, values)
    if wrong:
        return None
    plain = {name: value for name, value in values.items() if name not in _REFRACTION}
    if plain.get("steep_meridian_deg") == 0.0:
        plain["steep_meridian_deg"] = 180.0
    return OutcomeRow(**plain, refraction=refraction, row=row.number)


def _impossible(table: Table, row: Row, values: Mapping[str, Any]) -> list[Finding]:
    return [
        problem(
            "impossible-value",
            f"{values[name]:g} cannot stand here: it lies outside {low:g} to {high:g}. The row is not taken.",
            row_place(table.file, row.number, name),
        )
        for name, (low, high) in _POSSIBLE.items()
        if name in values and not low <= values[name] <= high
    ]


def _refraction(table: Table, row: Row, values: Mapping[str, Any], wrong: list[Finding]) -> Refraction | None:
    written = {name: values.get(name) for name in GlassesForm.model_fields}
    try:
        refraction = glasses_record(filled(GlassesForm, written))
    except RefusedFileError as error:
        for one in error.findings:
            field = "sphere_dpt" if one.where == WHOLE else one.where
            where = row_place(table.file, row.number, field)
            wrong.append(replace(one, sentence=f"{one.sentence} The row is not taken.", where=where))
        return None
    return refraction and replace(refraction, lane_m=values.get("lane_m"))
