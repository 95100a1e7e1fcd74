"""The eye file: what it gives, and what is refused."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from exchange.documents import ABSENT, codes, eye_document, eye_text, places
from zonule.case.biometry import ChamberFrom, CorneaKind, LengthConvention, LensStatus, Method, Vitreous
from zonule.case.eye import ContactLens, CornealSurgery, Look
from zonule.case.finding import Severity
from zonule.case.incision import Incision
from zonule.case.lens import (
    ConstantsAccount,
    ConstantsNotes,
    Focus,
    Haptic,
    LensConstants,
    LensModel,
    Material,
    PowerRange,
)
from zonule.case.patient import Sex, Side
from zonule.case.plan import FearedSide
from zonule.case.toric import CorneaModelName, ToricWishes
from zonule.exchange.eye_file import LIMIT_BYTES, read_eye_request
from zonule.exchange.refusal import RefusedFileError

LESSON = {
    "key": "one",
    "surgeon": "R. Calder",
    "method": "srk_t",
    "lens_model": "any name",
    "constants": [118.4],
    "first_on": "2026-01-12",
    "last_on": "2026-09-28",
    "eyes": 20,
    "mean_error_dpt": -0.2,
    "weight": 0.6,
    "offset_dpt": -0.12,
    "offset_sd_dpt": 0.07,
    "scale_dpt": 0.36,
    "learned_on": "2026-10-05",
}


def refused(text: str | bytes) -> RefusedFileError:
    with pytest.raises(RefusedFileError) as caught:
        read_eye_request(text, file="eye.json")
    return caught.value


def refused_with(**changes: Any) -> RefusedFileError:
    return refused(eye_text(**changes))


def test_the_example_of_the_contract_is_read_without_a_finding() -> None:
    patient, request, findings = read_eye_request(eye_text(), file="folder/eye.json")
    biometry = request.eye.biometry
    assert findings == ()
    assert (patient.key, patient.sex, str(patient.born_on)) == ("demo-0042", Sex.FEMALE, "1951-03-02")
    assert request.eye.side is Side.RIGHT
    assert biometry.method is Method.OPTICAL
    assert biometry.length_convention is LengthConvention.COMPOSITE
    assert biometry.chamber_from is ChamberFrom.EPITHELIUM
    assert biometry.lens_status is LensStatus.CATARACT
    assert biometry.vitreous is Vitreous.NATURAL
    assert biometry.keratometry.kind is CorneaKind.ANTERIOR
    assert biometry.keratometry.powers_dpt == pytest.approx((43.0, 44.0))
    assert request.eye.history.corneal_surgery is CornealSurgery.NONE
    assert request.target_refraction_dpt == 0.0
    assert request.lens is not None
    assert request.lens.constants.a_constant == 118.4
    assert request.lens.powers.powers_dpt[-1] == 30.0


def test_a_length_carries_the_spread_of_its_readings_and_where_it_stood() -> None:
    _, request, _ = read_eye_request(eye_text(), file="folder/eye.json")
    length = request.eye.biometry.axial_length_mm
    assert length is not None
    assert (length.value, length.n) == (23.5, 3)
    assert length.sd == pytest.approx(0.01)
    assert length.source == "eye.json: biometry.axial_length_mm"
    assert (length.device, str(length.on)) == ("any name", "2026-11-02")


def test_one_reading_has_no_spread() -> None:
    text = eye_text(biometry__repeats={"axial_length_mm": [23.5]})
    length = read_eye_request(text, file="e")[1].eye.biometry.axial_length_mm
    assert length is not None
    assert (length.n, length.sd) == (1, None)


def test_readings_never_change_the_value_given() -> None:
    text = eye_text(biometry__repeats={"axial_length_mm": [25.0, 26.0]})
    length = read_eye_request(text, file="e")[1].eye.biometry.axial_length_mm
    assert length is not None
    assert length.value == 23.5


def test_readings_without_a_value_make_no_value() -> None:
    _, request, findings = read_eye_request(eye_text(biometry__axial_length_mm=ABSENT), file="e")
    assert request.eye.biometry.axial_length_mm is None
    assert places(findings) == {"biometry.repeats.axial_length_mm"}


def test_a_reported_spread_is_kept() -> None:
    text = eye_text(biometry__spreads={"lens_thickness_mm": {"sd": 0.03, "n": 5}})
    thickness = read_eye_request(text, file="e")[1].eye.biometry.lens_thickness_mm
    assert thickness is not None
    assert (thickness.sd, thickness.n) == (0.03, 5)


@pytest.mark.parametrize(
    "path",
    [
        "biometry__axial_length_mm",
        "biometry__flat_power_dpt",
        "biometry__keratometric_index",
        "biometry__chamber_from",
        "biometry__measured_on",
        "biometry",
        "history",
        "target_refraction_dpt",
        "lens",
    ],
)
@pytest.mark.parametrize("value", [None, ABSENT])
def test_what_is_missing_is_absent_and_no_wrong_call(path: str, value: object) -> None:
    _, request, _ = read_eye_request(eye_text(**{path: value}), file="e")
    assert request.eye.side is Side.RIGHT


def test_surgery_that_nobody_mentions_is_unknown_never_none() -> None:
    for changes in ({"history": ABSENT}, {"history__corneal_surgery": ABSENT}, {"history": None}):
        _, request, _ = read_eye_request(eye_text(**changes), file="e")
        assert request.eye.history.corneal_surgery is CornealSurgery.UNKNOWN


def test_a_missing_chamber_start_is_not_assumed() -> None:
    _, request, _ = read_eye_request(eye_text(biometry__chamber_from=ABSENT), file="e")
    assert request.eye.biometry.chamber_from is None


def test_an_axis_of_0_is_stored_as_180() -> None:
    text = eye_text(biometry__steep_meridian_deg=0, history__glasses__axis_deg=0)
    eye = read_eye_request(text, file="e")[1].eye
    assert eye.biometry.keratometry.steep_meridian_deg == 180.0
    assert eye.history.glasses is not None
    assert eye.history.glasses.axis_deg == 180.0


def test_a_flat_meridian_puts_the_steep_one_at_right_angles() -> None:
    text = eye_text(biometry__steep_meridian_deg=ABSENT, biometry__flat_meridian_deg=5)
    assert read_eye_request(text, file="e")[1].eye.biometry.keratometry.steep_meridian_deg == 95.0


def test_radius_and_power_of_a_meridian_stay_side_by_side() -> None:
    text = eye_text(biometry__flat_radius_mm=7.85, biometry__steep_radius_mm=7.67)
    cornea = read_eye_request(text, file="e")[1].eye.biometry.keratometry
    assert cornea.flat.radius_mm is not None
    assert cornea.flat.power_dpt is not None
    assert (cornea.flat.radius_mm.value, cornea.flat.power_dpt.value) == (7.85, 43.0)


def test_every_key_of_the_extensions_is_read() -> None:
    text = eye_text(
        feared_side="myopic",
        surgeon="R. Calder",
        readiness={
            "contact_lens": "soft",
            "contact_lens_out_days": 7,
            "tear_film": "doubtful",
            "macula": "good",
            "fundus": "not_seen",
            "pressure_mmhg": 15,
            "dilated_pupil_mm": 6.5,
            "answered_on": "2026-11-02",
        },
        lens__constants_lane_m=4.0,
        lens__constants_length_convention="segmental",
        lens__optic_mm=6.0,
        lens__material="hydrophobic acrylic",
        lens__haigis=[1.3, 0.4, 0.1],
        lens__surgeon_factor=1.6,
        lens__p_acd=5.2,
        history__treated_at_cornea_dpt=-4.0,
        history__flat_power_before_dpt=43.0,
        history__steep_power_before_dpt=44.0,
        lessons=[LESSON],
    )
    _, request, findings = read_eye_request(text, file="e")
    assert findings == ()
    assert (request.feared_side, request.surgeon) == (FearedSide.MYOPIC, "R. Calder")
    assert request.eye.readiness.contact_lens is ContactLens.SOFT
    assert request.eye.readiness.tear_film is Look.DOUBTFUL
    assert request.eye.readiness.unanswered == ()
    assert request.lens is not None
    assert request.lens.constants == LensConstants(118.4, 1.6, 5.2, (1.3, 0.4, 0.1))
    assert request.lens.constants_length is LengthConvention.SEGMENTAL
    assert (request.lens.constants_lane_m, request.lens.optic_mm) == (4.0, 6.0)
    assert request.eye.history.treated_at_cornea_dpt == -4.0
    assert request.lessons[0].constants == (118.4,)


def test_the_fellow_eye_is_the_other_eye() -> None:
    document = eye_document()
    fellow = {name: document[name] for name in ("biometry", "history")}
    _, request, _ = read_eye_request(eye_text(fellow=fellow), file="eye.json")
    assert request.fellow is not None
    assert request.fellow.side is Side.LEFT
    length = request.fellow.biometry.axial_length_mm
    assert length is not None
    assert length.source == "eye.json: fellow.biometry.axial_length_mm"


def test_a_fellow_eye_on_the_same_side_is_refused() -> None:
    assert places(refused_with(fellow={"eye": "right"}).findings) == {"fellow.eye"}


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        ("fellow", {"target_refraction_dpt": -2.0}, "fellow.target_refraction_dpt"),
        ("history__glasses__vertex_mm", ABSENT, "history.glasses.vertex_mm"),
    ],
)
def test_a_key_without_effect_is_said_to_have_none(path: str, value: object, where: str) -> None:
    _, _, findings = read_eye_request(eye_text(**{path: value}), file="e")
    assert [(finding.severity, finding.where) for finding in findings] == [(Severity.NOTE, where)]


def test_incision_and_cylinder_are_read_and_a_meridian_of_0_is_180() -> None:
    asked = {"lens_cylinders_dpt": [1.0, 1.5], "cornea_model": "savini_naeser", "lens_meridian_deg": 0}
    text = eye_text(toric=asked, incision={"meridian_deg": 0, "flattening_dpt": 0.1, "width_mm": 2.2})
    _, request, findings = read_eye_request(text, file="e")
    assert not findings
    assert request.incision == Incision(0.0, 2.2, 0.1)
    assert request.toric == ToricWishes((1.0, 1.5), CorneaModelName.SAVINI_NAESER, None, None, 180.0)


def test_glasses_without_a_cylinder_are_said_to_be_taken_as_having_none() -> None:
    _, request, findings = read_eye_request(eye_text(history__glasses__cylinder_dpt=ABSENT), file="e")
    assert [(one.code, one.where) for one in findings] == [
        ("cylinder-not-given", "history.glasses.cylinder_dpt")
    ]
    assert request.eye.history.glasses is not None
    assert request.eye.history.glasses.cylinder_dpt == 0.0


CATALOGUE = {
    "Meadow One": LensModel(
        "Meadow One",
        PowerRange(10.0, 30.0, 0.5),
        LensConstants(a_constant=118.7, p_acd=5.4),
        constants_from="own results",
    )
}


def test_a_lens_of_the_catalogue_needs_only_its_name() -> None:
    _, request, findings = read_eye_request(
        eye_text(lens={"model": "Meadow One"}), file="e", lenses=CATALOGUE
    )
    assert request.lens == CATALOGUE["Meadow One"]
    assert findings == ()


def test_constants_in_the_file_go_before_the_catalogue_and_say_so() -> None:
    text = eye_text(lens={"model": "Meadow One", "a_constant": 119.0})
    _, request, findings = read_eye_request(text, file="e", lenses=CATALOGUE)
    assert request.lens is not None
    assert request.lens.constants == LensConstants(a_constant=119.0, p_acd=5.4)
    assert request.lens.constants_from == "own results; a_constant from the eye file"
    assert places(findings) == {"lens.a_constant"}
    assert "118.7" in findings[0].sentence


def test_a_constant_of_the_file_leaves_the_account_of_the_old_one_behind() -> None:
    notes = ConstantsNotes(a_constant=ConstantsAccount("a list", lane_m=4.0), p_acd=ConstantsAccount("ours"))
    lenses = {"Meadow One": replace(CATALOGUE["Meadow One"], constants_notes=notes)}
    text = eye_text(lens={"model": "Meadow One", "a_constant": 119.0})
    lens = read_eye_request(text, file="e", lenses=lenses)[1].lens
    assert lens is not None
    assert lens.constants_notes == ConstantsNotes(p_acd=ConstantsAccount("ours"))
    assert "a_constant from the eye file" in lens.account_of(("a_constant",)).constants_from


def test_a_lens_in_the_file_may_tell_all_that_a_catalogue_tells() -> None:
    shape = {"front_radius_mm": 13.36, "back_radius_mm": -13.36, "refractive_index": 1.47}
    lens = {
        "model": "Thistle Loam",
        "powers_dpt": {"from": 6.0, "to": 30.0, "step": 0.5},
        "c_constant": 0.39,
        "material": "Silicone",
        "haptic": "three piece",
        "focus": "several",
        "cylinders_dpt": [1.0, 1.5],
        "geometry": {**shape, "thickness_mm": 0.85, "at_power_dpt": 20.0},
    }
    read = read_eye_request(eye_text(lens=lens), file="e")[1].lens
    assert read is not None
    assert (read.material, read.haptic, read.focus) == (Material.SILICONE, Haptic.THREE_PIECE, Focus.SEVERAL)
    assert read.constants.own(("c_constant",)) == (0.39,)
    assert read.geometry is not None
    assert round(read.geometry.power_dpt, 2) == 20.0


def test_an_unknown_lens_without_powers_is_named_with_the_nearest_one() -> None:
    _, request, findings = read_eye_request(eye_text(lens={"model": "Medow One"}), file="e", lenses=CATALOGUE)
    assert request.lens is None
    assert findings[0].severity is Severity.BLOCKING
    assert '"Meadow One"' in findings[0].sentence


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        ("eye", "OD", "eye"),
        ("eye", "both", "eye"),
        ("eye", ABSENT, "eye"),
        ("eye", None, "eye"),
        ("zonule", 2, "zonule"),
        ("zonule", True, "zonule"),
        ("zonule", "1", "zonule"),
        ("zonule", ABSENT, "zonule"),
        ("patient", ABSENT, "patient"),
        ("patient__key", "", "patient.key"),
        ("patient__key", 42, "patient.key"),
        ("patient__key", "two\nlines", "patient.key"),
        ("patient__born_on", "02/03/1951", "patient.born_on"),
        ("patient__born_on", "1951-02-30", "patient.born_on"),
        ("patient__born_on", 19510302, "patient.born_on"),
        ("biometry__axial_length_mm", "23.5", "biometry.axial_length_mm"),
        ("biometry__axial_length_mm", "23.5 mm", "biometry.axial_length_mm"),
        ("biometry__axial_length_mm", True, "biometry.axial_length_mm"),
        ("biometry__axial_length_mm", [23.5], "biometry.axial_length_mm"),
        ("biometry__axial_length_mm", 1e300, "biometry.axial_length_mm"),
        ("biometry__axial_length", 23.5, "biometry.axial_length"),
        ("biometry__method", "laser", "biometry.method"),
        ("biometry__steep_meridian_deg", 270, "biometry.steep_meridian_deg"),
        ("biometry__flat_meridian_deg", 95, "biometry"),
        ("biometry__repeats", {"axial_length": [23.5]}, "biometry.repeats.axial_length"),
        ("biometry__repeats", {"axial_length_mm": []}, "biometry.repeats.axial_length_mm"),
        ("biometry__repeats", {"axial_length_mm": ["23.5"]}, "biometry.repeats.axial_length_mm.0"),
        ("biometry__spreads", {"axial_length_mm": {"sd": 0.01}}, "biometry"),
        ("biometry__spreads", {"lens_thickness_mm": {"sd": -0.1}}, "biometry.spreads.lens_thickness_mm.sd"),
        ("biometry__spreads", {"lens_thickness_mm": {"n": 0}}, "biometry.spreads.lens_thickness_mm.n"),
        ("history__glasses__vertex_mm", -1, "history.glasses.vertex_mm"),
        ("history__glasses__sphere_dpt", 31, "history.glasses.sphere_dpt"),
        ("lessons", [{**LESSON, "weight": 1.5}], "lessons.0.weight"),
        ("history__corneal_surgery", "lasik", "history.corneal_surgery"),
        ("history__glasses__cylinder_dpt", -75, "history.glasses.cylinder_dpt"),
        ("history__glasses__axis_deg", ABSENT, "history.glasses"),
        ("history__glasses__sphere_dpt", ABSENT, "history.glasses"),
        ("target_refraction_dpt", "plano", "target_refraction_dpt"),
        ("lens__haigis", [1.3, 0.4], "lens.haigis"),
        ("lens__powers_dpt", {"from": 30, "to": 6, "step": 0.5}, "lens.powers_dpt"),
        ("lens__powers_dpt", {"from": 6, "to": 30, "step": 1e-9}, "lens.powers_dpt.step"),
        ("lens__constants_lane_m", 0, "lens.constants_lane_m"),
        ("toric", {"cylinders": [1]}, "toric.cylinders"),
        ("toric", {"cornea_model": "Abulafia"}, "toric.cornea_model"),
        ("toric", {"marking": "pen"}, "toric.marking"),
        ("toric", {"lens_cylinders_dpt": [1.0, -1.5]}, "toric.lens_cylinders_dpt.1"),
        ("toric", {"lens_meridian_deg": 181}, "toric.lens_meridian_deg"),
        ("toric", {"lens_meridian_deg": -5}, "toric.lens_meridian_deg"),
        ("incision", {"meridian_deg": 181}, "incision.meridian_deg"),
        ("incision", {"flattening_dpt": 0.1}, "incision.meridian_deg"),
        ("incision", {"meridian_deg": 180, "width_mm": 22}, "incision.width_mm"),
        ("lessons", [{**LESSON, "eyes": 2.5}], "lessons.0.eyes"),
        ("axial_length_mm", 23.5, "axial_length_mm"),
    ],
)
def test_a_wrong_key_type_or_word_is_refused_by_its_path(path: str, value: object, where: str) -> None:
    findings = refused_with(**{path: value}).findings
    assert places(findings) == {where}
    assert all(finding.severity is Severity.BLOCKING for finding in findings)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "9" * 400])
def test_a_number_that_is_none_is_refused(number: str) -> None:
    findings = refused(eye_text().replace("23.5,", f"{number},", 1)).findings
    assert places(findings) == {"biometry.axial_length_mm"}


def test_all_problems_are_told_at_once() -> None:
    error = refused_with(
        eye="OS", biometry__axial_length_mm="23.5", biometry__methode="optical", history__glases={}
    )
    assert places(error.findings) == {
        "eye",
        "biometry.axial_length_mm",
        "biometry.methode",
        "history.glases",
    }
    assert all(finding.where in str(error) for finding in error.findings)


def test_a_misspelt_key_is_answered_with_the_nearest_known_one() -> None:
    (finding,) = refused_with(biometry__axial_lenght_mm=23.5).findings
    assert finding.code == "unknown-key"
    assert '"axial_length_mm"' in finding.sentence


def test_a_key_in_the_wrong_group_is_sent_to_the_right_one() -> None:
    (finding,) = refused_with(axial_length_mm=23.5).findings
    assert 'under "biometry"' in finding.sentence


def test_a_wrong_word_is_answered_with_the_words_allowed() -> None:
    (finding,) = refused_with(biometry__vitreous="clear").findings
    for word in Vitreous:
        assert word in finding.sentence


def test_a_key_that_stands_twice_is_refused_by_its_path() -> None:
    text = eye_text().replace('"axial_length_mm": 23.5', '"axial_length_mm": 23.5, "axial_length_mm": 25.3')
    assert places(refused(text).findings) == {"biometry.axial_length_mm"}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "file-cut-short"),
        (eye_text()[:200], "file-cut-short"),
        (eye_text()[:-1], "file-cut-short"),
        ("[]", "not-an-object"),
        ("23.5", "not-an-object"),
        (eye_text() + "}", "not-json"),
        ("{'zonule': 1}", "not-json"),
        (b"\xff\xfe{\x00}\x00", "not-utf-8"),
        (eye_text().encode()[:-40] + b"\xe9" + eye_text().encode()[-40:], "not-utf-8"),
        (" " * (LIMIT_BYTES + 1), "file-too-large"),
        ('{"a":' * 100_000, "not-json"),
    ],
)
def test_an_unreadable_or_half_written_file_is_refused(text: str | bytes, code: str) -> None:
    assert codes(refused(text).findings) == {code}


def test_a_byte_order_mark_does_no_harm() -> None:
    patient, _, _ = read_eye_request(b"\xef\xbb\xbf" + eye_text().encode(), file="e")
    assert patient.key == "demo-0042"


def test_a_value_that_is_readable_but_doubtful_stays_for_the_check_to_judge() -> None:
    text = eye_text(
        biometry__axial_length_mm=2.35, biometry__flat_power_dpt=44.0, biometry__steep_power_dpt=43.0
    )
    _, request, findings = read_eye_request(text, file="e")
    assert findings == ()
    length = request.eye.biometry.axial_length_mm
    assert length is not None
    assert length.value == 2.35


def test_a_refused_text_is_shown_without_its_control_characters() -> None:
    (finding,) = refused(json.dumps(eye_document(eye="\x1b[31mright"))).findings
    assert "\x1b" not in finding.sentence
