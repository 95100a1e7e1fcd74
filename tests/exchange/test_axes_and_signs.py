"""Axes and cylinders as they come in, through every door: what is kept, what is refused, what is said."""

from __future__ import annotations

from typing import Any

import pytest

from exchange.documents import ABSENT, TODAY, eye_text, row, table
from exchange.test_outcome_csv import outcome
from zonule.case.finding import Finding, Severity
from zonule.case.plan import PlanRequest
from zonule.case.refraction import Refraction
from zonule.errors import ExchangeError
from zonule.exchange.biometry_csv import read_biometry_csv
from zonule.exchange.eye_file import read_eye_request
from zonule.exchange.outcome_csv import read_outcome_csv

OUT_OF_RANGE = (-1, -90, 180.5, 181, 360)
BACK = {"biometry__posterior_flat_radius_mm": 6.6, "biometry__posterior_steep_radius_mm": 6.2}
OTHER = {"device": "B", "flat_power_dpt": 43.1, "steep_power_dpt": 44.0, "keratometric_index": 1.3375}
SEEN = {"sphere_dpt": -1.0, "cylinder_dpt": -1.5}
EYE_FILE_AXES: dict[str, dict[str, Any]] = {
    "biometry__steep_meridian_deg": {},
    "biometry__flat_meridian_deg": {"biometry__steep_meridian_deg": ABSENT},
    "biometry__posterior_steep_meridian_deg": BACK,
    "history__glasses__axis_deg": {},
    "fellow__history__glasses__axis_deg": {"fellow": {"history": {"glasses": dict(SEEN)}}},
    "fellow__outcome__refraction__axis_deg": {"fellow": {"outcome": {"refraction": dict(SEEN)}}},
}


def request_of(**changes: Any) -> PlanRequest:
    return read_eye_request(eye_text(**changes), file="eye.json")[1]


def file_axes(request: PlanRequest) -> dict[str, float | None]:
    """What each place of an eye file became."""
    biometry, fellow, got = request.eye.biometry, request.fellow, request.fellow_outcome
    glasses = request.eye.history.glasses
    fellow_glasses = fellow.history.glasses if fellow else None
    return {
        "biometry__steep_meridian_deg": biometry.keratometry.steep_meridian_deg,
        "biometry__posterior_steep_meridian_deg": biometry.posterior_steep_meridian_deg,
        "history__glasses__axis_deg": glasses.axis_deg if glasses else None,
        "fellow__history__glasses__axis_deg": fellow_glasses.axis_deg if fellow_glasses else None,
        "fellow__outcome__refraction__axis_deg": got.refraction.axis_deg if got else None,
    }


@pytest.mark.parametrize("place", EYE_FILE_AXES)
@pytest.mark.parametrize("axis_deg", OUT_OF_RANGE)
def test_an_axis_that_cannot_be_is_refused_by_its_place(place: str, axis_deg: float) -> None:
    with pytest.raises(ExchangeError, match=r"0 or more|180 or less"):
        request_of(**{**EYE_FILE_AXES[place], place: axis_deg})


@pytest.mark.parametrize("place", [one for one in EYE_FILE_AXES if "flat" not in one])
@pytest.mark.parametrize(("written", "kept"), [(0, 180.0), (180, 180.0), (1, 1.0), (179.5, 179.5)])
def test_an_axis_of_0_is_one_of_180_wherever_it_stands(place: str, written: float, kept: float) -> None:
    assert file_axes(request_of(**{**EYE_FILE_AXES[place], place: written}))[place] == kept


@pytest.mark.parametrize(("flat", "steep"), [(0, 90.0), (90, 180.0), (180, 90.0), (95, 5.0)])
def test_a_flat_meridian_alone_tells_the_steep_one(flat: float, steep: float) -> None:
    request = request_of(biometry__steep_meridian_deg=ABSENT, biometry__flat_meridian_deg=flat)
    assert request.eye.biometry.keratometry.steep_meridian_deg == steep


@pytest.mark.parametrize("place", [one for one in EYE_FILE_AXES if "axis" in one])
def test_a_cylinder_without_its_axis_is_refused(place: str) -> None:
    with pytest.raises(ExchangeError, match="cylinder but no axis"):
        request_of(**{**EYE_FILE_AXES[place], place: ABSENT})


def test_another_devices_cornea_is_read_with_its_meridian_and_kept_apart() -> None:
    request = request_of(biometry__other_corneas=[{**OTHER, "flat_meridian_deg": 5}])
    (other,) = request.eye.biometry.other_corneas
    assert (other.device, other.keratometry.steep_meridian_deg) == ("B", 95.0)
    assert other.keratometry.mean_k_dpt == pytest.approx(43.55)
    flat = other.keratometry.flat.power_dpt
    assert flat is not None
    assert flat.source == "eye.json: biometry.other_corneas.0.flat_power_dpt"
    assert request.eye.biometry.keratometry.mean_k_dpt == pytest.approx(43.5)


@pytest.mark.parametrize(
    "wrong",
    [
        {"steep_meridian_deg": 181},
        {"steep_meridian_deg": 90, "flat_meridian_deg": 3},
        {"axial_length_mm": 23.5},
        {"flat_power_dpt": "43"},
    ],
)
def test_another_devices_cornea_is_read_as_strictly_as_the_first(wrong: dict[str, Any]) -> None:
    with pytest.raises(ExchangeError):
        request_of(biometry__other_corneas=[{**OTHER, **wrong}])


def csv_row(**cells: str) -> tuple[tuple[Any, ...], tuple[Finding, ...]]:
    intake = read_biometry_csv(table(row(**cells)), file="clinic.csv", today=TODAY)
    return intake.eyes, intake.findings


@pytest.mark.parametrize("field", ["steep_meridian_deg", "posterior_steep_meridian_deg", "glasses_axis_deg"])
@pytest.mark.parametrize("cell", [str(one) for one in OUT_OF_RANGE])
def test_an_axis_of_a_table_that_cannot_be_costs_its_row(field: str, cell: str) -> None:
    eyes, findings = csv_row(**{field: cell})
    assert eyes == ()
    assert [one.where for one in findings] == [f"clinic.csv, row 2, {field}"]


def test_an_axis_of_0_in_a_table_is_kept_as_180() -> None:
    cells = {
        "steep_meridian_deg": "0",
        "posterior_flat_radius_mm": "6.6",
        "posterior_steep_radius_mm": "6.2",
        "posterior_steep_meridian_deg": "0",
        "glasses_axis_deg": "0",
    }
    ((incoming,), _) = csv_row(**cells)
    biometry = incoming.eye.biometry
    assert biometry.keratometry.steep_meridian_deg == 180.0
    assert biometry.posterior_steep_meridian_deg == 180.0
    assert incoming.eye.history.glasses.axis_deg == 180.0


@pytest.mark.parametrize(
    ("flat", "taken"), [("5", True), ("3", True), ("7", True), ("2", False), ("95", False)]
)
def test_meridians_of_a_table_that_are_not_square_cost_their_row(flat: str, *, taken: bool) -> None:
    eyes, findings = csv_row(flat_meridian_deg=flat)
    assert bool(eyes) is taken
    if not taken:
        (finding,) = findings
        assert "not at right angles" in finding.sentence
        assert finding.where == "clinic.csv, row 2, steep_meridian_deg"


def outcome_row(**cells: str) -> tuple[tuple[Any, ...], tuple[Finding, ...]]:
    return read_outcome_csv(table(outcome(**cells)), file="audit.csv")


@pytest.mark.parametrize("field", ["axis_deg", "steep_meridian_deg"])
@pytest.mark.parametrize("cell", [str(one) for one in OUT_OF_RANGE])
def test_an_axis_of_an_outcome_that_cannot_be_costs_its_row(field: str, cell: str) -> None:
    rows, findings = outcome_row(**{field: cell})
    assert rows == ()
    assert [one.where for one in findings] == [f"audit.csv, row 2, {field}"]


def test_an_axis_of_0_in_an_outcome_is_kept_as_180() -> None:
    ((one,), _) = outcome_row(axis_deg="0", steep_meridian_deg="0")
    assert one.refraction.axis_deg == one.steep_meridian_deg == 180.0


def test_an_outcome_with_a_cylinder_and_no_axis_costs_its_row() -> None:
    rows, (finding,) = outcome_row(axis_deg="")
    assert rows == ()
    assert "cylinder but no axis" in finding.sentence


def glasses(cylinder: str, key: str, **cells: str) -> dict[str, str]:
    return row(patient_key=key, name="", glasses_cylinder_dpt=cylinder, **cells)


def the_one(findings: tuple[Finding, ...], code: str) -> Finding:
    (found,) = [one for one in findings if one.code == code]
    return found


def test_plus_and_minus_cylinders_in_one_table_are_told_and_taken_as_written() -> None:
    rows = [
        glasses(cylinder, f"k{index}") for index, cylinder in enumerate(("-0.5", "-1", "0.75", "0", "-2"))
    ]
    intake = read_biometry_csv(table(*rows), file="clinic.csv", today=TODAY)
    finding = the_one(intake.findings, "cylinder-signs-mixed")
    assert (finding.severity, finding.where) == (Severity.WARNING, "clinic.csv, glasses_cylinder_dpt")
    assert "plus cylinders (1)" in finding.sentence
    assert "minus cylinders (3)" in finding.sentence
    assert "plus ones: rows 4." in finding.sentence
    written = [one.eye.history.glasses for one in intake.eyes]
    assert [one.cylinder_dpt for one in written if one] == [-0.5, -1.0, 0.75, 0.0, -2.0]


def test_the_minus_rows_are_named_where_they_are_the_rarer() -> None:
    cells = [outcome(patient_key=f"k{index}", cylinder_dpt=one) for index, one in enumerate(("1", "2", "-1"))]
    rows, findings = read_outcome_csv(table(*cells), file="audit.csv")
    finding = the_one(findings, "cylinder-signs-mixed")
    assert len(rows) == 3
    assert "minus ones: rows 4." in finding.sentence
    assert finding.where == "audit.csv, cylinder_dpt"


@pytest.mark.parametrize("cylinders", [("-1", "-2", "0"), ("1", "0.25", "0"), ("0", "0", "")])
def test_cylinders_of_one_sign_are_no_news(cylinders: tuple[str, ...]) -> None:
    cells = [outcome(patient_key=f"k{index}", cylinder_dpt=one) for index, one in enumerate(cylinders)]
    _, findings = read_outcome_csv(table(*cells), file="audit.csv")
    assert "cylinder-signs-mixed" not in {one.code for one in findings}


def test_either_sign_of_one_refraction_is_the_same_refraction() -> None:
    plus, minus = Refraction(-1.0, 2.0, 30.0), Refraction(1.0, -2.0, 120.0)
    assert plus.reported_equivalent_dpt == pytest.approx(minus.reported_equivalent_dpt)


def test_glasses_of_a_table_without_a_cylinder_are_noted_once() -> None:
    rows = [
        glasses("", "k0", glasses_axis_deg=""),
        glasses("", "k1", glasses_axis_deg=""),
        glasses("0", "k2"),
    ]
    intake = read_biometry_csv(table(*rows), file="clinic.csv", today=TODAY)
    finding = the_one(intake.findings, "cylinder-not-given")
    assert finding.severity is Severity.NOTE
    assert "rows 2 and 3." in finding.sentence


def test_an_outcome_without_vertex_distance_or_cylinder_says_what_was_taken() -> None:
    ((one,), findings) = outcome_row(vertex_mm="", cylinder_dpt="", axis_deg="")
    assert (one.refraction.vertex_mm, one.refraction.cylinder_dpt) == (12.0, 0.0)
    assert "12 mm" in the_one(findings, "vertex-not-given").sentence
    assert the_one(findings, "cylinder-not-given").where == "audit.csv, cylinder_dpt"


def test_a_row_without_a_refraction_leaves_nothing_to_say_of_one() -> None:
    _, findings = outcome_row(sphere_dpt="", cylinder_dpt="", axis_deg="", vertex_mm="")
    assert findings == ()
