"""Keratometry and axial measurements from DICOM objects."""

from __future__ import annotations

import copy
import io
import shutil
import subprocess
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pydicom
import pytest
from pydicom.dataset import Dataset
from pydicom.uid import DeflatedExplicitVRLittleEndian, EncapsulatedPDFStorage

from exchange.dicom_objects import (
    AXIAL,
    KERATOMETRY,
    RIGHT_CORNEA,
    RIGHT_LENGTHS,
    Change,
    changed,
    coded,
    one,
)
from exchange.documents import DATA, TODAY, codes, places
from zonule.case.biometry import Biometry, ChamberFrom, LengthConvention, LensStatus, Method, Vitreous
from zonule.case.finding import Severity
from zonule.case.intake import Intake
from zonule.case.measured import Measured
from zonule.case.patient import Sex, Side
from zonule.exchange.biometry_file import read_biometry
from zonule.exchange.dicom_biometry import read_dicom_biometry
from zonule.exchange.refusal import RefusedFileError

STEEP, FLAT = "SteepKeratometricAxisSequence", "FlatKeratometricAxisSequence"
READINGS = "OphthalmicAxialLengthMeasurementsSequence"
TOTAL = "OphthalmicAxialLengthMeasurementsTotalLengthSequence"
SEGMENT = "OphthalmicAxialLengthMeasurementsSegmentalLengthSequence"
CHOSEN = ("OpticalSelectedOphthalmicAxialLengthSequence", "SelectedTotalOphthalmicAxialLengthSequence")


def read(data: bytes) -> Intake:
    return read_dicom_biometry(data, file="folder/object.dcm", today=TODAY)


def read_changed(path: Path, *changes: Change) -> Intake:
    return read(changed(path, *changes))


def refused(data: bytes) -> RefusedFileError:
    with pytest.raises(RefusedFileError) as caught:
        read(data)
    return caught.value


def right(intake: Intake) -> Biometry:
    (found,) = [one.eye.biometry for one in intake.eyes if one.eye.side is Side.RIGHT]
    return found


def known(measured: Measured | None) -> Measured:
    assert measured is not None
    return measured


def add_reading(length_mm: float) -> Change:
    """A second total reading of the right eye."""

    def change(dataset: Dataset) -> None:
        readings = one(dataset, RIGHT_LENGTHS)[READINGS].value
        another = copy.deepcopy(readings[0])
        one(another, TOTAL).OphthalmicAxialLength = length_mm
        readings.append(another)

    return change


def without_choice(dataset: Dataset) -> None:
    del one(dataset, RIGHT_LENGTHS)[CHOSEN[0]]


def without(keyword: str) -> Change:
    def change(dataset: Dataset) -> None:
        del dataset[keyword]

    return change


def test_keratometry_gives_radii_powers_axes_and_nothing_else() -> None:
    intake = read(KERATOMETRY.read_bytes())
    biometry = right(intake)
    cornea = biometry.keratometry
    assert intake.findings == ()
    assert [incoming.where for incoming in intake.eyes] == ["right eye", "left eye"]
    assert cornea.radii_mm == (7.86, 7.62)
    assert known(cornea.steep.power_dpt).value == 44.29
    assert cornea.steep_meridian_deg == 94.0
    assert biometry.axial_length_mm is None


def test_patient_device_and_date_come_along() -> None:
    (incoming, _) = read(KERATOMETRY.read_bytes()).eyes
    assert (incoming.patient.key, incoming.patient.name) == ("SYN-0001", "Ophelia Synthetic")
    assert (incoming.patient.born_on, incoming.patient.sex) == (date(1950, 3, 1), Sex.FEMALE)
    assert incoming.eye.biometry.device == "zonule scratch synthetic"
    assert incoming.eye.biometry.measured_on == date(2026, 1, 15)


def test_the_index_is_recovered_from_radius_and_power() -> None:
    assert right(read(KERATOMETRY.read_bytes())).keratometry.keratometric_index == 1.3375


def test_another_index_is_recovered_as_well() -> None:
    def change(dataset: Dataset) -> None:
        for keyword in (STEEP, FLAT):
            meridian = one(dataset, RIGHT_CORNEA, keyword)
            meridian.KeratometricPower = round(332.0 / meridian.RadiusOfCurvature, 2)

    index = right(read_changed(KERATOMETRY, change)).keratometry.keratometric_index
    assert index == pytest.approx(1.332, abs=1e-4)


def test_powers_in_quarter_dioptres_are_no_contradiction() -> None:
    def change(dataset: Dataset) -> None:
        for keyword in (STEEP, FLAT):
            meridian = one(dataset, RIGHT_CORNEA, keyword)
            meridian.KeratometricPower = round(4 * 337.5 / meridian.RadiusOfCurvature) / 4

    assert len(read_changed(KERATOMETRY, change).eyes) == 2


def test_meridians_that_imply_two_indices_cost_their_eye_and_no_other() -> None:
    intake = read_changed(
        KERATOMETRY, lambda dataset: setattr(one(dataset, RIGHT_CORNEA, STEEP), "KeratometricPower", 43.57)
    )
    assert [incoming.eye.side for incoming in intake.eyes] == [Side.LEFT]
    assert codes(intake.findings) == {"indices-differ"}
    assert intake.findings[0].severity is Severity.BLOCKING
    assert "right eye" in intake.findings[0].where


@pytest.mark.parametrize(
    ("keyword", "value", "code"),
    [
        ("KeratometricAxis", 60.0, "meridians-not-at-right-angles"),
        ("KeratometricAxis", 270.0, "impossible-value"),
        ("KeratometricAxis", float("nan"), "unreadable-number"),
        ("RadiusOfCurvature", float("inf"), "unreadable-number"),
        ("RadiusOfCurvature", [7.6, 7.7], "unreadable-number"),
    ],
)
def test_a_meridian_that_cannot_be_costs_its_eye(keyword: str, value: object, code: str) -> None:
    intake = read_changed(
        KERATOMETRY, lambda dataset: setattr(one(dataset, RIGHT_CORNEA, STEEP), keyword, value)
    )
    assert [incoming.eye.side for incoming in intake.eyes] == [Side.LEFT]
    assert codes(intake.findings) == {code}


def test_the_axes_of_a_spherical_cornea_mean_nothing() -> None:
    def change(dataset: Dataset) -> None:
        steep, flat = (one(dataset, RIGHT_CORNEA, keyword) for keyword in (STEEP, FLAT))
        steep.RadiusOfCurvature, steep.KeratometricPower = flat.RadiusOfCurvature, flat.KeratometricPower
        steep.KeratometricAxis = flat.KeratometricAxis

    assert len(read_changed(KERATOMETRY, change).eyes) == 2


def test_an_axis_of_0_is_stored_as_180() -> None:
    def change(dataset: Dataset) -> None:
        one(dataset, RIGHT_CORNEA, STEEP).KeratometricAxis = 0.0
        one(dataset, RIGHT_CORNEA, FLAT).KeratometricAxis = 90.0

    assert right(read_changed(KERATOMETRY, change)).keratometry.steep_meridian_deg == 180.0


def test_a_missing_meridian_costs_its_eye() -> None:
    intake = read_changed(KERATOMETRY, lambda dataset: one(dataset, RIGHT_CORNEA).pop(FLAT))
    assert codes(intake.findings) == {"meridian-missing"}


@pytest.mark.parametrize("keyword", ["RadiusOfCurvature", "KeratometricPower", "KeratometricAxis"])
def test_an_element_that_must_be_there_is_missed(keyword: str) -> None:
    intake = read_changed(KERATOMETRY, lambda dataset: one(dataset, RIGHT_CORNEA, STEEP).pop(keyword))
    assert [(finding.severity, finding.code) for finding in intake.findings] == [
        (Severity.WARNING, "element-left-out")
    ]
    assert len(intake.eyes) == 2


def test_a_reading_of_an_unknown_part_is_a_warning() -> None:
    def change(dataset: Dataset) -> None:
        segment = one(one(dataset, RIGHT_LENGTHS)[READINGS].value[1], SEGMENT)
        segment.OphthalmicAxialLengthMeasurementsSegmentNameCodeSequence = [coded("12345", "SCT")]

    intake = read_changed(AXIAL, change)
    assert right(intake).corneal_thickness_um is None
    assert "reading-not-understood" in codes(intake.findings)


def test_single_readings_that_are_left_out_are_missed() -> None:
    intake = read_changed(AXIAL, lambda dataset: one(dataset, RIGHT_LENGTHS).pop(READINGS))
    assert known(right(intake).axial_length_mm).value == 23.46
    assert "element-left-out" in codes(intake.findings)


def test_lengths_are_rounded_to_what_they_state_and_keep_what_was_stored() -> None:
    biometry = right(read(AXIAL.read_bytes()))
    length = known(biometry.axial_length_mm)
    assert length.value == 23.46
    assert "23.459999084472656" in length.source
    assert "(0022,1019)" in length.source
    assert known(biometry.anterior_chamber_depth_mm).value == 3.12
    assert known(biometry.lens_thickness_mm).value == 4.55
    assert known(biometry.corneal_thickness_um).value == 545.0


def test_the_spread_comes_from_the_quality_metric() -> None:
    length = known(right(read(AXIAL.read_bytes())).axial_length_mm)
    assert length.sd == pytest.approx(0.02)
    assert "signal to noise 142" in length.source


def test_an_axial_object_brings_no_cornea() -> None:
    biometry = right(read(AXIAL.read_bytes()))
    assert not biometry.keratometry.flat.is_measured
    assert not biometry.keratometry.steep.is_measured


def test_what_the_object_does_not_say_stays_open() -> None:
    intake = read(AXIAL.read_bytes())
    biometry = right(intake)
    assert biometry.length_convention is None
    assert biometry.lens_status is None
    assert codes(intake.findings) == {"lens-status-open"}


def test_an_absent_chamber_definition_is_asked_and_never_assumed() -> None:
    biometry = right(read_changed(AXIAL, without("AnteriorChamberDepthDefinitionCodeSequence")))
    assert biometry.anterior_chamber_depth_mm is not None
    assert biometry.chamber_from is None


@pytest.mark.parametrize(
    ("value", "chamber_from"), [("111776", ChamberFrom.EPITHELIUM), ("111777", ChamberFrom.ENDOTHELIUM)]
)
def test_the_chamber_starts_where_the_code_says(value: str, chamber_from: ChamberFrom) -> None:
    biometry = right(
        read_changed(
            AXIAL,
            lambda dataset: setattr(dataset, "AnteriorChamberDepthDefinitionCodeSequence", [coded(value)]),
        )
    )
    assert biometry.chamber_from is chamber_from


@pytest.mark.parametrize(
    ("value", "status"),
    [("309523001", LensStatus.PSEUDOPHAKIC), ("24010005", LensStatus.APHAKIC)],
)
def test_a_lens_status_is_read_from_its_code(value: str, status: LensStatus) -> None:
    intake = read_changed(
        AXIAL,
        lambda dataset: setattr(one(dataset, RIGHT_LENGTHS), "LensStatusCodeSequence", [coded(value, "SCT")]),
    )
    assert right(intake).lens_status is status


@pytest.mark.parametrize("value", ["397559001", "370951003", "12345"])
def test_a_lens_status_without_a_word_of_ours_is_a_warning(value: str) -> None:
    intake = read_changed(
        AXIAL,
        lambda dataset: setattr(one(dataset, RIGHT_LENGTHS), "LensStatusCodeSequence", [coded(value, "SCT")]),
    )
    assert right(intake).lens_status is None
    assert intake.findings[0].severity is Severity.WARNING


@pytest.mark.parametrize(
    ("value", "vitreous"),
    [
        ("372242005", Vitreous.NATURAL),
        ("232077005", Vitreous.VITRECTOMISED),
        ("247094004", Vitreous.GAS),
        ("247095003", Vitreous.SILICONE_OIL),
        ("12345", None),
    ],
)
def test_the_vitreous_is_read_from_its_code(value: str, vitreous: Vitreous | None) -> None:
    intake = read_changed(
        AXIAL,
        lambda dataset: setattr(
            one(dataset, RIGHT_LENGTHS), "VitreousStatusCodeSequence", [coded(value, "SCT")]
        ),
    )
    assert right(intake).vitreous is vitreous
    assert ("vitreous-open" in codes(intake.findings)) is (vitreous is None)


@pytest.mark.parametrize(
    ("value", "method"), [("111750", Method.CONTACT), ("111751", Method.IMMERSION), ("0", None)]
)
def test_ultrasound_is_told_apart_by_contact_and_immersion(value: str, method: Method | None) -> None:
    def change(dataset: Dataset) -> None:
        dataset.OphthalmicAxialMeasurementsDeviceType = "ULTRASOUND"
        dataset.OphthalmicUltrasoundMethodCodeSequence = [coded(value)]

    intake = read_changed(AXIAL, change)
    assert right(intake).method is method
    assert ("ultrasound-method-unknown" in codes(intake.findings)) is (method is None)


def test_an_optical_length_says_so() -> None:
    assert right(read(AXIAL.read_bytes())).method is Method.OPTICAL


def test_single_readings_are_kept_beside_the_chosen_length() -> None:
    biometry = right(read_changed(AXIAL, add_reading(23.48)))
    length = known(biometry.axial_length_mm)
    assert (length.value, length.n) == (23.46, 2)
    assert biometry.repeats == {"axial_length_mm": (23.46, 23.48)}


def test_without_a_choice_the_mean_of_the_readings_is_taken_and_said() -> None:
    intake = read_changed(AXIAL, add_reading(23.50), without_choice)
    length = known(right(intake).axial_length_mm)
    assert (length.value, length.n) == (23.48, 2)
    assert length.sd == pytest.approx(0.02828, abs=1e-5)
    assert "mean-of-readings" in codes(intake.findings)


def test_without_a_choice_a_single_reading_stands_for_itself() -> None:
    intake = read_changed(AXIAL, without_choice)
    length = known(right(intake).axial_length_mm)
    assert (length.value, length.n, length.sd) == (23.46, 1, None)


def test_a_chosen_length_far_from_its_readings_is_a_warning() -> None:
    intake = read_changed(
        AXIAL,
        lambda dataset: setattr(one(dataset, RIGHT_LENGTHS, *CHOSEN), "OphthalmicAxialLength", 24.46),
    )
    assert "chosen-length-outside-readings" in codes(intake.findings)


def test_a_summed_length_is_segmental() -> None:
    def change(dataset: Dataset) -> None:
        one(dataset, RIGHT_LENGTHS, CHOSEN[0]).OphthalmicAxialLengthMeasurementsType = "LENGTH SUMMATION"

    assert right(read_changed(AXIAL, change)).length_convention is LengthConvention.SEGMENTAL


def with_vitreous(length_mm: float) -> Change:
    def change(dataset: Dataset) -> None:
        readings = one(dataset, RIGHT_LENGTHS)[READINGS].value
        another = copy.deepcopy(readings[1])
        segment = one(another, SEGMENT)
        segment.OphthalmicAxialLength = length_mm
        segment["OphthalmicAxialLengthMeasurementsSegmentNameCodeSequence"].value = [coded("26386000", "SCT")]
        readings.append(another)

    return change


def test_segments_that_add_up_are_no_finding() -> None:
    intake = read_changed(AXIAL, with_vitreous(23.46 - 3.12 - 4.55))
    assert codes(intake.findings) == {"lens-status-open"}


def test_segments_from_the_endothelium_add_up_with_the_cornea() -> None:
    def from_the_back(dataset: Dataset) -> None:
        dataset.AnteriorChamberDepthDefinitionCodeSequence = [coded("111777")]

    intake = read_changed(AXIAL, with_vitreous(23.46 - 0.545 - 3.12 - 4.55), from_the_back)
    assert codes(intake.findings) == {"lens-status-open"}


def test_segments_that_do_not_add_up_are_a_warning() -> None:
    intake = read_changed(AXIAL, with_vitreous(16.5))
    assert "segments-do-not-add-up" in codes(intake.findings)


def test_a_chamber_and_lens_longer_than_the_eye_cost_it() -> None:
    intake = read_changed(
        AXIAL, lambda dataset: setattr(one(dataset, RIGHT_LENGTHS, *CHOSEN), "OphthalmicAxialLength", 7.5)
    )
    assert [incoming.eye.side for incoming in intake.eyes] == [Side.LEFT]
    assert "segments-longer-than-eye" in codes(intake.findings)


def test_a_moved_cursor_is_noted() -> None:
    def change(dataset: Dataset) -> None:
        reading = one(dataset, RIGHT_LENGTHS, READINGS, TOTAL)
        reading.OphthalmicAxialLengthMeasurementModified = "YES"

    assert "cursor-moved" in codes(read_changed(AXIAL, change).findings)


@pytest.mark.parametrize("path", [KERATOMETRY, AXIAL])
@pytest.mark.parametrize("said", ["R", "L", "X"])
def test_an_object_that_contradicts_itself_about_the_eye_is_refused(path: Path, said: str) -> None:
    data = changed(path, lambda dataset: setattr(dataset, "MeasurementLaterality", said))
    assert codes(refused(data).findings) == {"laterality-contradiction"}


def test_a_series_laterality_has_to_agree_too() -> None:
    data = changed(KERATOMETRY, lambda dataset: setattr(dataset, "Laterality", "L"))
    assert codes(refused(data).findings) == {"laterality-contradiction"}


def test_the_eye_is_told_by_its_sequence_where_nothing_else_says_it() -> None:
    left_out = (without("MeasurementLaterality"), without("KeratometryLeftEyeSequence"))
    intake = read_changed(KERATOMETRY, *left_out)
    assert [incoming.eye.side for incoming in intake.eyes] == [Side.RIGHT]


def turn_into_pdf(dataset: Dataset) -> None:
    dataset.SOPClassUID = EncapsulatedPDFStorage


def drop_both_eyes(dataset: Dataset) -> None:
    del dataset.KeratometryRightEyeSequence, dataset.KeratometryLeftEyeSequence


def double_right_eye(dataset: Dataset) -> None:
    eyes = dataset[RIGHT_CORNEA].value
    eyes.append(copy.deepcopy(eyes[0]))


@pytest.mark.parametrize(
    ("path", "change", "code"),
    [
        (KERATOMETRY, drop_both_eyes, "no-eye"),
        (KERATOMETRY, double_right_eye, "eye-given-twice"),
        (KERATOMETRY, without("PatientID"), "patient-missing"),
        (KERATOMETRY, lambda dataset: setattr(dataset, "PatientID", ""), "patient-missing"),
        (KERATOMETRY, lambda dataset: setattr(dataset, "ContentDate", "20261110"), "impossible-date"),
        (
            KERATOMETRY,
            turn_into_pdf,
            "another-kind-of-object",
        ),
        (KERATOMETRY, without("SOPClassUID"), "another-kind-of-object"),
    ],
)
def test_an_object_that_cannot_be_used_is_refused_whole(path: Path, change: Change, code: str) -> None:
    assert codes(refused(changed(path, change)).findings) == {code}


def test_an_object_that_does_not_say_how_it_measured_gives_no_eye() -> None:
    intake = read_changed(AXIAL, without("OphthalmicAxialMeasurementsDeviceType"))
    assert intake.eyes == ()
    assert "device-type-missing" in codes(intake.findings)


@pytest.mark.parametrize("name", ["synthetic_ar.dcm", "synthetic_iol.dcm"])
def test_an_object_of_another_kind_is_named(name: str) -> None:
    error = refused((DATA / "dicom" / name).read_bytes())
    assert places(error.findings) == {"object.dcm, (0008,0016) SOPClassUID"}


def test_a_pdf_inside_an_object_is_called_a_picture_of_numbers() -> None:
    data = changed(KERATOMETRY, turn_into_pdf)
    assert "picture of numbers" in str(refused(data))


@pytest.mark.parametrize("data", [b"", b"DICM", b"\x00" * 200, b"patient_key,eye\n"])
def test_what_is_not_dicom_is_refused(data: bytes) -> None:
    assert codes(refused(data).findings) == {"not-dicom"}


def test_a_deflated_object_is_refused_before_it_is_inflated() -> None:
    dataset = pydicom.dcmread(KERATOMETRY)
    dataset.file_meta.TransferSyntaxUID = DeflatedExplicitVRLittleEndian
    written = io.BytesIO()
    dataset.save_as(written, enforce_file_format=True)
    assert codes(refused(written.getvalue()).findings) == {"deflated-dicom"}


def test_an_object_beyond_the_limit_is_refused() -> None:
    data = KERATOMETRY.read_bytes() + b"\x00" * 16_000_000
    assert codes(refused(data).findings) == {"file-too-large"}


def test_a_departure_from_the_standard_is_a_warning() -> None:
    whole = KERATOMETRY.read_bytes()
    intake = read(whole.replace(b"2.25.197976964", b"2.25.x97976964"))
    assert codes(intake.findings) == {"departs-from-standard"}
    assert intake.eyes == read(whole).eyes


def test_an_object_is_told_from_a_table_by_its_content() -> None:
    intake = read_biometry(KERATOMETRY.read_bytes(), file="clinic.csv", today=TODAY)
    assert len(intake.eyes) == 2


WAIVED = {
    "synthetic_oam.dcm": "Attribute present when condition unsatisfied",
    "synthetic_iol.dcm": "",
}
"""Errors of the validator that are not ours: its edition is older than two attributes."""


def validated(path: Path) -> Sequence[str]:
    tool = shutil.which("dciodvfy")
    if tool is None:
        pytest.skip("dciodvfy is not installed: Debian package dicom3tools")
    run = subprocess.run([tool, "-new", str(path)], capture_output=True, text=True, check=False)  # noqa: S603 - our own files
    lines = (run.stdout + run.stderr).splitlines()
    return [line for line in lines if line.startswith("Error")]


@pytest.mark.parametrize("path", [KERATOMETRY, AXIAL], ids=lambda path: path.stem)
def test_the_objects_of_these_tests_are_what_the_standard_describes(path: Path) -> None:
    waived = WAIVED.get(path.name)
    assert [line for line in validated(path) if waived is None or waived not in line] == []


def test_the_validator_would_have_told(tmp_path: Path) -> None:
    broken = tmp_path / "broken.dcm"
    broken.write_bytes(
        changed(KERATOMETRY, lambda dataset: one(dataset, RIGHT_CORNEA, STEEP).pop("KeratometricPower"))
    )
    assert validated(broken)
