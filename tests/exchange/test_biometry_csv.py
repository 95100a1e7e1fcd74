"""The biometry table: what comes in, what is refused, and how it is named."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exchange.documents import ORDINARY_ROW, TODAY, UNTIMED, codes, places, row, table
from zonule.case.eye import CornealSurgery
from zonule.case.finding import Severity
from zonule.case.intake import Intake
from zonule.case.patient import Sex, Side
from zonule.errors import ExchangeError
from zonule.exchange.biometry_csv import COLUMNS, read_biometry_csv
from zonule.exchange.biometry_file import read_biometry
from zonule.exchange.refusal import RefusedFileError

OTHER = row(patient_key="clinic-8", name="Ivo Maric", born_on="1948-02-03", sex="male")


def read(data: bytes) -> Intake:
    return read_biometry_csv(data, file="folder/clinic.csv", today=TODAY)


def refused(data: bytes) -> RefusedFileError:
    with pytest.raises(RefusedFileError) as caught:
        read(data)
    return caught.value


def test_a_row_becomes_an_eye_whose_numbers_know_their_cell() -> None:
    intake = read(table(row(listed_on="2026-11-16", target_refraction_dpt="-0.25", lens_model="Meadow One")))
    (incoming,) = intake.eyes
    assert intake.findings == ()
    assert intake.file == "clinic.csv"
    assert (incoming.patient.key, incoming.patient.name) == ("clinic-7", "Noor Haddad")
    assert (incoming.patient.born_on, incoming.patient.sex) == (date(1950, 5, 17), Sex.FEMALE)
    assert (incoming.eye.side, incoming.where) == (Side.RIGHT, "row 2")
    assert (incoming.listed_on, incoming.target_refraction_dpt) == (date(2026, 11, 16), -0.25)
    assert incoming.lens_model == "Meadow One"
    length = incoming.eye.biometry.axial_length_mm
    assert length is not None
    assert length.value == 23.5
    assert length.source == "clinic.csv, row 2, axial_length_mm"
    assert (length.device, length.on) == ("Biometer A", date(2026, 11, 2))


def test_an_empty_cell_is_missing_and_nothing_is_assumed() -> None:
    (incoming,) = read(
        table(
            row(
                axial_length_mm="",
                keratometric_index="",
                glasses_sphere_dpt="",
                glasses_cylinder_dpt="",
                glasses_axis_deg="",
                glasses_vertex_mm="",
                corneal_surgery="",
            )
        )
    ).eyes
    eye = incoming.eye
    assert eye.biometry.axial_length_mm is None
    assert eye.biometry.keratometry.keratometric_index is None
    assert eye.biometry.chamber_from is None
    assert eye.history.glasses is None
    assert eye.history.corneal_surgery is CornealSurgery.UNKNOWN


@UNTIMED
@given(st.permutations(list(ORDINARY_ROW)))
def test_the_order_of_the_columns_changes_nothing(headers: list[str]) -> None:
    rows = [row(), OTHER]
    turned = table(*({name: one[name] for name in headers} for one in rows))
    assert read(turned).eyes == read(table(*rows)).eyes


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm() -> None:
    plain = table(row())
    assert read(b"\xef\xbb\xbf" + plain.replace(b"\n", b"\r\n")).eyes == read(plain).eyes


def test_a_comma_inside_quotes_belongs_to_the_name() -> None:
    (incoming,) = read(table(row(name="Haddad, Noor"))).eyes
    assert incoming.patient.name == "Haddad, Noor"


def test_semicolons_with_decimal_commas_are_read_and_said() -> None:
    point = table(row())
    german = table({name: cell.replace(".", ",") for name, cell in row().items()}, delimiter=";")
    intake = read(german)
    assert intake.eyes == read(point).eyes
    assert codes(intake.findings) == {"semicolons"}
    assert "comma" in intake.findings[0].sentence


def test_semicolons_with_decimal_points_are_read_and_said() -> None:
    intake = read(table(row(), delimiter=";"))
    assert intake.eyes == read(table(row())).eyes
    assert "point" in intake.findings[0].sentence


def test_two_kinds_of_decimals_in_one_file_are_refused() -> None:
    data = table(row(axial_length_mm="23,5"), OTHER, delimiter=";")
    assert codes(refused(data).findings) == {"ambiguous-decimals"}


@pytest.mark.parametrize(
    ("cells", "field"),
    [
        ({"axial_length_mm": "23.5 mm"}, "axial_length_mm"),
        ({"axial_length_mm": "23.5mm"}, "axial_length_mm"),
        ({"steep_meridian_deg": "95°"}, "steep_meridian_deg"),
        ({"axial_length_mm": "23,5"}, "axial_length_mm"),
        ({"axial_length_mm": "NaN"}, "axial_length_mm"),
        ({"axial_length_mm": "inf"}, "axial_length_mm"),
        ({"axial_length_mm": "n/a"}, "axial_length_mm"),
        ({"axial_length_mm": "-"}, "axial_length_mm"),
        ({"axial_length_mm": "2 3.5"}, "axial_length_mm"),
        ({"axial_length_mm": "२३"}, "axial_length_mm"),
        ({"axial_length_mm": "9999999"}, "axial_length_mm"),
        ({"steep_meridian_deg": "275"}, "steep_meridian_deg"),
        ({"flat_meridian_deg": "95"}, "steep_meridian_deg"),
        ({"eye": "OD"}, "eye"),
        ({"eye": "R"}, "eye"),
        ({"eye": "both"}, "eye"),
        ({"eye": ""}, "eye"),
        ({"patient_key": ""}, "patient_key"),
        ({"sex": "F"}, "sex"),
        ({"corneal_surgery": "lasik"}, "corneal_surgery"),
        ({"measured_on": "2026-02-30"}, "measured_on"),
        ({"measured_on": "02.11.2026"}, "measured_on"),
        ({"measured_on": "2026-11-10"}, "measured_on"),
        ({"born_on": "2027-01-01"}, "born_on"),
        ({"measured_on": "1950-05-16"}, "measured_on"),
        ({"glasses_cylinder_dpt": "-75"}, "glasses_cylinder_dpt"),
        ({"glasses_axis_deg": ""}, "glasses_sphere_dpt"),
        ({"glasses_sphere_dpt": ""}, "glasses_sphere_dpt"),
        ({"glasses_axis_deg": "190"}, "glasses_axis_deg"),
        ({"name": "Noor\nHaddad"}, "name"),
        ({"name": "N" * 201}, "name"),
    ],
)
def test_a_bad_cell_costs_its_row_and_no_other(cells: dict[str, str], field: str) -> None:
    intake = read(table(row(**cells), OTHER))
    blocking = [finding for finding in intake.findings if finding.severity is Severity.BLOCKING]
    assert [incoming.patient.key for incoming in intake.eyes] == ["clinic-8"]
    assert f"clinic.csv, row 2, {field}" in {finding.where for finding in blocking}
    assert all(finding.where.startswith("clinic.csv, row 2, ") for finding in blocking)
    assert all("row is not taken" in finding.sentence for finding in blocking)


def test_a_row_tells_all_its_problems_at_once() -> None:
    intake = read(table(row(eye="OS", axial_length_mm="long", born_on="1950-13-01")))
    assert places(intake.findings) == {
        f"clinic.csv, row 2, {field}" for field in ("eye", "axial_length_mm", "born_on")
    }


def test_a_capital_letter_does_not_make_another_word() -> None:
    (incoming,) = read(table(row(eye="Right"))).eyes
    assert incoming.eye.side is Side.RIGHT


@pytest.mark.parametrize("ending", [b",", b",0.5"])
def test_a_row_with_a_comma_too_many_is_refused_by_number(ending: bytes) -> None:
    first, second = table(row(), OTHER).splitlines()[1:]
    head = table(row()).splitlines()[0]
    intake = read(b"\n".join([head, first + ending, second, b""]))
    assert [incoming.where for incoming in intake.eyes] == ["row 3"]
    (finding,) = intake.findings
    assert (finding.where, finding.code) == ("clinic.csv, row 2", "wrong-number-of-cells")


def test_a_row_with_a_comma_too_few_is_refused_by_number() -> None:
    data = table(row(), OTHER).replace(b"23.5,", b"23.5", 1)
    intake = read(data)
    assert [incoming.where for incoming in intake.eyes] == ["row 3"]
    assert "too few" in intake.findings[0].sentence


def test_rows_are_numbered_as_a_spreadsheet_shows_them() -> None:
    head, rows = table(row(name="Noor\nHaddad"), OTHER).split(b"\n", 1)
    data = b"\n\n".join([head, rows])
    intake = read(data)
    assert places(intake.findings) == {"clinic.csv, row 3, name"}
    assert [incoming.where for incoming in intake.eyes] == ["row 4"]


def test_two_rows_for_one_eye_are_both_refused_since_nobody_knows_which_is_right() -> None:
    intake = read(table(row(), OTHER, row(axial_length_mm="25.3")))
    assert [incoming.patient.key for incoming in intake.eyes] == ["clinic-8"]
    assert places(intake.findings) == {"clinic.csv, row 2, eye", "clinic.csv, row 4, eye"}
    assert "2 and 4" in intake.findings[0].sentence


@pytest.mark.parametrize(
    ("field", "cell"), [("name", "Nora Haddad"), ("born_on", "1950-05-18"), ("sex", "male")]
)
def test_one_key_with_two_people_is_refused(field: str, cell: str) -> None:
    intake = read(table(row(), row(**{"eye": "left", field: cell}), OTHER))
    assert [incoming.patient.key for incoming in intake.eyes] == ["clinic-8"]
    assert places(intake.findings) == {f"clinic.csv, row 2, {field}", f"clinic.csv, row 3, {field}"}


def test_a_name_given_once_holds_for_both_eyes() -> None:
    intake = read(table(row(), row(eye="left", name="", born_on="", sex="")))
    assert {incoming.patient.name for incoming in intake.eyes} == {"Noor Haddad"}
    assert len({incoming.patient for incoming in intake.eyes}) == 1


def test_doubtful_values_stay_for_the_check_to_judge() -> None:
    intake = read(table(row(axial_length_mm="2.35", flat_power_dpt="45", steep_power_dpt="42")))
    assert intake.findings == ()
    length = intake.eyes[0].eye.biometry.axial_length_mm
    assert length is not None
    assert length.value == 2.35


def test_glasses_without_a_vertex_distance_are_noted_once() -> None:
    intake = read(table(row(glasses_vertex_mm=""), {**OTHER, "glasses_vertex_mm": ""}))
    (finding,) = intake.findings
    assert finding.severity is Severity.NOTE
    assert "2 and 3" in finding.sentence


def test_an_unknown_header_refuses_the_file_and_names_the_nearest_known_one() -> None:
    error = refused(table({**row(), "axial_lenght_mm": "23.5", "iol": "x"}))
    assert places(error.findings) == {
        'clinic.csv, row 1, "axial_lenght_mm"',
        'clinic.csv, row 1, "iol"',
    }
    assert '"axial_length_mm"' in error.findings[0].sentence


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "empty-file"),
        (b"\n\n", "empty-file"),
        (b"eye,axial_length_mm\nright,23.5\n", "missing-header"),
        (b"patient_key,eye,eye\na,right,left\n", "doubled-header"),
        (b"patient_key,eye,\na,right,\n", "unknown-header"),
        (b"patient_key,eye;name\n", "ambiguous-separator"),
        (b"patient_key\teye\n", "ambiguous-separator"),
        ("patient_key,eye,name\na,right,José\n".encode("latin-1"), "not-utf-8"),
        ("patient_key,eye\na,right\n".encode("utf-16"), "another-kind-of-file"),
        (b"%PDF-1.7\n", "another-kind-of-file"),
        (b"PK\x03\x04", "another-kind-of-file"),
        (b"patient_key,eye\na\x00,right\n", "not-text"),
        (b'patient_key,eye\n"a,right\n', "file-cut-short"),
        (b"patient_key,eye\n" + b"a,right\n" * 2_000_001, "file-too-large"),
    ],
)
def test_a_file_that_cannot_be_understood_is_refused_whole(data: bytes, code: str) -> None:
    assert codes(refused(data).findings) == {code}


def test_a_half_written_file_loses_its_torn_row_and_says_so() -> None:
    data = table(row(), OTHER)
    intake = read(data[: data.index(b"1948")])
    assert [incoming.where for incoming in intake.eyes] == ["row 2"]
    assert codes(intake.findings) == {"wrong-number-of-cells", "no-line-end"}


def test_a_table_without_rows_says_so() -> None:
    intake = read(table(row()).splitlines()[0] + b"\n")
    assert (intake.eyes, codes(intake.findings)) == ((), {"no-rows"})


def test_an_eye_file_is_not_taken_for_a_table() -> None:
    with pytest.raises(RefusedFileError, match="eye file"):
        read_biometry(b'{"zonule": 1}', file="eye.json", today=TODAY)


def test_a_table_is_told_by_its_content() -> None:
    intake = read_biometry(table(row()), file="clinic.dcm", today=TODAY)
    assert len(intake.eyes) == 1


def test_every_column_can_be_read() -> None:
    full = row(
        method="immersion",
        length_convention="segmental",
        flat_radius_mm="7.85",
        steep_radius_mm="7.67",
        flat_meridian_deg="5",
        cornea_kind="total",
        anterior_chamber_depth_mm="3.1",
        chamber_from="endothelium",
        lens_thickness_mm="4.5",
        corneal_thickness_um="540",
        white_to_white_mm="11.9",
        posterior_flat_radius_mm="6.5",
        posterior_steep_radius_mm="6.3",
        posterior_steep_meridian_deg="90",
        treated_at_cornea_dpt="-5",
        flat_power_before_dpt="43.0",
        steep_power_before_dpt="44.0",
        lens_status="clear",
        vitreous="gas",
        corneal_surgery="graft",
        listed_on="2026-12-01",
        target_refraction_dpt="0",
        lens_model="Meadow One",
    )
    assert set(full) == set(COLUMNS)
    intake = read(table(full))
    assert intake.findings == ()
    assert len(intake.eyes) == 1


@UNTIMED
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    _read_or_refuse(data)


CELLS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8) | st.sampled_from(
    ["right", "left", "23.5", "-1", "0", "1e5", "2026-01-01", "unknown", ""]
)


@UNTIMED
@given(
    st.lists(st.sampled_from(list(COLUMNS)), unique=True, max_size=6),
    st.lists(st.lists(CELLS, min_size=8, max_size=8), max_size=3),
)
def test_any_cells_are_read_or_refused(headers: list[str], lines: list[list[str]]) -> None:
    written = io.StringIO()
    writer = csv.writer(written)
    names = list(dict.fromkeys(["patient_key", "eye", *headers]))
    writer.writerows([names, *(line[: len(names)] for line in lines)])
    _read_or_refuse(written.getvalue().encode())


def test_a_table_cut_anywhere_is_read_or_refused() -> None:
    data = table(*(row(patient_key=f"clinic-{index}", name="") for index in range(5)))
    for length in range(0, len(data), 3):
        _read_or_refuse(data[:length])


def _read_or_refuse(data: bytes) -> None:
    try:
        intake = read_biometry(data, file="any", today=TODAY)
    except ExchangeError:
        return
    assert all(finding.sentence for finding in intake.findings)
