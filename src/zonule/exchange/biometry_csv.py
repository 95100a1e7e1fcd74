"""A table of biometry, one row an eye: what can be read comes in, what cannot is named."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from zonule.case.biometry import ChamberFrom, CorneaKind, LengthConvention, LensStatus, Method, Vitreous
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, warning
from zonule.case.intake import IncomingEye, Intake
from zonule.case.patient import Patient, Sex, Side
from zonule.exchange.cells import (
    Cell,
    absent_keys,
    day,
    eyes_given_twice,
    in_words,
    number,
    read_cells,
    text,
    word,
)
from zonule.exchange.forms import BiometryForm, GlassesForm, HistoryForm
from zonule.exchange.records import Source, eye_record
from zonule.exchange.refraction_remarks import Words, refraction_remarks
from zonule.exchange.refusal import FORMAT, RefusedFileError, file_name, problem, shown
from zonule.exchange.table import Row, Table, read_table, row_place
from zonule.exchange.validation import WHOLE, FormT, filled

LIMIT_BYTES = 16_000_000
REQUIRED = ("patient_key", "eye")

_PERSON: dict[str, Cell] = {"patient_key": text, "name": text, "born_on": day, "sex": word(Sex)}
_BIOMETRY: dict[str, Cell] = {
    "measured_on": day,
    "device": text,
    "method": word(Method),
    "length_convention": word(LengthConvention),
    "axial_length_mm": number,
    "flat_power_dpt": number,
    "steep_power_dpt": number,
    "flat_radius_mm": number,
    "steep_radius_mm": number,
    "steep_meridian_deg": number,
    "flat_meridian_deg": number,
    "keratometric_index": number,
    "cornea_kind": word(CorneaKind),
    "anterior_chamber_depth_mm": number,
    "chamber_from": word(ChamberFrom),
    "lens_thickness_mm": number,
    "corneal_thickness_um": number,
    "white_to_white_mm": number,
    "posterior_flat_radius_mm": number,
    "posterior_steep_radius_mm": number,
    "posterior_steep_meridian_deg": number,
    "lens_status": word(LensStatus),
    "vitreous": word(Vitreous),
}
_BEFORE_SURGERY: dict[str, Cell] = {
    "treated_at_cornea_dpt": number,
    "flat_power_before_dpt": number,
    "steep_power_before_dpt": number,
}
_GLASSES: dict[str, Cell] = {
    "glasses_sphere_dpt": number,
    "glasses_cylinder_dpt": number,
    "glasses_axis_deg": number,
    "glasses_vertex_mm": number,
}
COLUMNS: dict[str, Cell] = {
    **_PERSON,
    "eye": word(Side),
    **_BIOMETRY,
    "corneal_surgery": word(CornealSurgery),
    **_BEFORE_SURGERY,
    **_GLASSES,
    "listed_on": day,
    "target_refraction_dpt": number,
    "lens_model": text,
}
"""Every header, and how its cells are read."""

_NUMERIC = frozenset(name for name, cell in COLUMNS.items() if cell is number)
_NOT_AFTER_TODAY = ("born_on", "measured_on")
_SAME_PERSON = ("name", "born_on", "sex")


@dataclass(frozen=True, slots=True)
class _Reading:
    """What could be made of one row."""

    number: int
    values: dict[str, Any]
    eye: Eye | None
    """Absent when the row is refused."""
    findings: list[Finding]

    @property
    def key(self) -> str | None:
        """Whose eye, where the cell can be read."""
        return self.values.get("patient_key")


def read_biometry_csv(data: bytes, *, file: str, today: date) -> Intake:
    """The eyes of a biometry table, and findings about rows that were refused.

    Parameters
    ----------
    data
        The file (docs/reference/biometry-csv.md), at most 16 MB.
    file
        Its name.
    today
        A measurement after this day is refused.

    Returns
    -------
    Intake
        Each eye that can be read, doubtful or not; each other row as a blocking finding.

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
    readings = [_read(table, row, today) for row in table.rows]
    between_rows = _between_rows(table, readings)
    people = _people(readings)
    taken = [one for one in readings if one.eye is not None and one.number not in between_rows]
    of_rows = (finding for one in readings for finding in (*one.findings, *between_rows.get(one.number, ())))
    return Intake(
        file=table.file,
        digest=hashlib.sha256(data).hexdigest(),
        eyes=tuple(_incoming(one, people) for one in taken),
        findings=(*table.findings, *of_rows, *_remarks(table, taken)),
    )


def _read(table: Table, row: Row, today: date) -> _Reading:
    values, findings = read_cells(table, row, COLUMNS)
    findings += absent_keys(table, row, REQUIRED)
    findings += [
        problem(
            "impossible-date",
            f"{sentence} Correct it. The row is not taken.",
            row_place(table.file, row.number, name),
        )
        for name, sentence in _impossible_days(values, today)
    ]
    if findings:
        return _Reading(row.number, values, None, findings)
    eye, wrong = _eye(table, row, values)
    return _Reading(row.number, values, eye, wrong)


def _impossible_days(values: Mapping[str, Any], today: date) -> Iterator[tuple[str, str]]:
    for name in _NOT_AFTER_TODAY:
        if name in values and values[name] > today:
            yield name, f"{values[name]} is in the future."
    born_on, measured_on = values.get("born_on"), values.get("measured_on")
    if born_on is not None and measured_on is not None and measured_on < born_on:
        yield "measured_on", f"The eye is measured on {measured_on}, before its owner is born on {born_on}."


def _eye(table: Table, row: Row, values: Mapping[str, Any]) -> tuple[Eye | None, list[Finding]]:
    def source(name: str) -> str:
        return row_place(table.file, row.number, name)

    written = {name: values.get(name) for name in _BIOMETRY}
    biometry, wrong = _filled(BiometryForm, written, source, "steep_meridian_deg")
    of_glasses = {name: values.get(f"glasses_{name}") for name in GlassesForm.model_fields}
    glasses, wrong_glasses = _filled(
        GlassesForm, of_glasses, lambda name: source(f"glasses_{name}"), "sphere_dpt"
    )
    if biometry is None or glasses is None:
        return None, [*wrong, *wrong_glasses]
    before = {name: values.get(name) for name in ("corneal_surgery", *_BEFORE_SURGERY)}
    history = HistoryForm(**before, glasses=glasses)
    return eye_record(values["eye"], biometry, history, None, source), []


def _filled(
    form: type[FormT], values: dict[str, Any], source: Source, whole: str
) -> tuple[FormT | None, list[Finding]]:
    """The form, or what is wrong with it; `whole` names the cell to blame when several clash."""
    try:
        return filled(form, values), []
    except RefusedFileError as error:
        return None, [
            replace(
                one,
                sentence=f"{one.sentence} The row is not taken.",
                where=source(whole if one.where == WHOLE else one.where),
            )
            for one in error.findings
        ]


def _between_rows(table: Table, readings: Sequence[_Reading]) -> dict[int, list[Finding]]:
    """What is wrong with rows only because of other rows, by row number."""
    found: defaultdict[int, list[Finding]] = defaultdict(list)
    owners = {
        one.number: (one.key, one.values["eye"])
        for one in readings
        if one.key is not None and "eye" in one.values
    }
    for row_number, finding in eyes_given_twice(table, owners).items():
        found[row_number].append(finding)
    for row_number, finding in _unlike_people(table, readings):
        found[row_number].append(finding)
    return dict(found)


def _unlike_people(table: Table, readings: Sequence[_Reading]) -> Iterator[tuple[int, Finding]]:
    rows_of: defaultdict[str, list[_Reading]] = defaultdict(list)
    for one in readings:
        if one.key is not None:
            rows_of[one.key].append(one)
    for key, rows in rows_of.items():
        for name in _SAME_PERSON:
            telling = [one for one in rows if name in one.values]
            if len({one.values[name] for one in telling}) > 1:
                numbers = [one.number for one in telling]
                for one in rows:
                    yield one.number, _unlike(table, one.number, name, key, numbers)


def _unlike(table: Table, row_number: int, name: str, key: str, rows: list[int]) -> Finding:
    sentence = (
        f"The key {shown(key)} comes with different values of {name} in rows {in_words(rows)}, so it may "
        "stand for two people. Correct the key or the person. No row of this key is taken."
    )
    return problem("person-differs", sentence, row_place(table.file, row_number, name))


def _people(readings: Sequence[_Reading]) -> dict[str, Patient]:
    """Each person once, put together from what their rows say."""
    people: dict[str, Patient] = {}
    for one in readings:
        if one.key is not None:
            said = {name: one.values[name] for name in _SAME_PERSON if name in one.values}
            people[one.key] = replace(people.get(one.key, Patient(one.key)), **said)
    return people


def _incoming(reading: _Reading, people: Mapping[str, Patient]) -> IncomingEye:
    assert reading.eye is not None and reading.key is not None  # noqa: S101, PT018 - the caller chose such rows
    return IncomingEye(
        patient=people[reading.key],
        eye=reading.eye,
        where=f"row {reading.number}",
        listed_on=reading.values.get("listed_on"),
        target_refraction_dpt=reading.values.get("target_refraction_dpt"),
        lens_model=reading.values.get("lens_model"),
    )


def _remarks(table: Table, taken: Sequence[_Reading]) -> Iterator[Finding]:
    if not table.rows and not table.findings:
        yield warning("no-rows", "The file has headers and no rows.", table.file, FORMAT)
    refractions = (
        (one.number, {name: one.values.get(f"glasses_{name}") for name in GlassesForm.model_fields})
        for one in taken
    )
    yield from refraction_remarks(refractions, Words("Glasses", "glasses_"), table.file)
