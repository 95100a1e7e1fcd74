from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawings.drawn import SVG, number, part, parts, plan, root, said, text_of, texts
from fakes.examples import ordinary_case, ordinary_eye, ordinary_operation, ordinary_review
from zonule.case.biometry import ChamberFrom, LensStatus
from zonule.case.refraction import Refraction
from zonule.drawings.errors import errors_drawing
from zonule.drawings.eye_section import eye_section
from zonule.drawings.methods import methods_drawing
from zonule.drawings.result import result_drawing
from zonule.drawings.svg import Drawing
from zonule.science.statistics.outcomes import outcome_summary

ERRORS = st.lists(st.floats(-5, 5) | st.sampled_from([-0.5, 0.5, 0.25, -0.25, 0.0]), min_size=1, max_size=60)


def _bars(errors: Sequence[float]) -> list[int]:
    drawing = errors_drawing(errors)
    counts = [one for one in texts(drawing) if (one.text or "").isdigit()]
    assert len(counts) == len(parts(drawing, "bar"))
    return [int(one.text or "") for one in counts]


@given(ERRORS)
def test_the_bars_hold_every_eye_that_is_not_said_to_lie_farther_out(errors: list[float]) -> None:
    shown = sum(_bars(errors))
    beyond = sum(abs(error) > 2.0 + 1e-9 for error in errors)
    assert shown == len(errors) - beyond
    assert (f"{beyond} farther than 2.0 D" in said(errors_drawing(errors))) == bool(beyond)


@given(ERRORS)
def test_the_band_holds_the_eyes_that_the_audit_counts_within_half_a_dioptre(errors: list[float]) -> None:
    within = round(outcome_summary(np.array(errors)).within["0.50"] * len(errors))
    assert f"{within} of {len(errors)} eyes ended within half a dioptre" in errors_drawing(errors).description


def test_an_error_on_the_short_sighted_side_is_drawn_to_the_left() -> None:
    (bar,) = parts(errors_drawing([-0.6], width=720), "bar")
    assert number(bar, "x") + number(bar, "width") < 360


def test_no_reviewed_eyes_is_said_in_words() -> None:
    assert said(errors_drawing([])) == "No reviewed eyes yet."


@pytest.mark.parametrize("width", [340, 720])
def test_the_methods_stand_by_name_with_what_they_expect(width: int) -> None:
    drawing = methods_drawing(plan(), 21.0, width=width)
    for line in (
        "SRK/T",
        "Holladay 1",
        "Haigis, not counted",
        "together",
        "\u22120.25",
        "\u22120.15",
        "+0.45",
    ):
        assert line in said(drawing)
    assert len(parts(drawing, "dot")) == 4


def test_methods_that_expect_a_more_long_sighted_eye_lie_farther_right() -> None:
    dots = [number(one, "cx") for one in parts(methods_drawing(plan(), 21.0), "dot")]
    assert dots[0] < dots[1] < dots[2]
    assert dots[3] == pytest.approx(dots[0])


def test_a_power_that_is_not_made_draws_nothing_and_says_so() -> None:
    assert said(methods_drawing(plan(), 99.0)) == "No method predicts 99.0 D."


def test_a_result_stands_left_of_what_was_expected_when_the_eye_is_more_short_sighted() -> None:
    drawing = result_drawing(0.0, ordinary_review(refraction=Refraction(-0.75)))
    x = [float(pair.split(",")[0]) for pair in (part(drawing, "mark-diamond").get("points") or "").split()]
    assert max(x) < number(text_of(drawing, "expected 0.00 D"), "x")
    assert "found \u22120.75 D" in said(drawing)


def _spans(drawing: Drawing, words: str) -> list[tuple[float, float]]:
    """Where the dimension lines next to these words start and end."""
    row = number(text_of(drawing, words), "y")
    level = [one for one in root(drawing).iter(f"{SVG}line") if one.get("y1") == one.get("y2")]
    return [(number(one, "x1"), number(one, "x2")) for one in level if abs(number(one, "y1") - row) < 1.2]


@pytest.mark.parametrize(
    ("words", "start", "end"),
    [("axial length 25.00 mm", 0.0, 25.0), ("chamber 3.10 mm", 0.0, 3.1), ("lens 4.50 mm", 3.1, 7.6)],
)
def test_the_section_is_to_scale_along_the_axis(words: str, start: float, end: float) -> None:
    drawing = eye_section(ordinary_case(eye=ordinary_eye(axial_length_mm=25.0)))
    assert (start, end) in _spans(drawing, words)


@pytest.mark.parametrize(
    ("missing", "words"),
    [
        ("axial_length_mm", "axial length not measured"),
        ("anterior_chamber_depth_mm", "chamber not measured"),
        ("lens_thickness_mm", "lens not measured"),
        ("corneal_thickness_um", "cornea not measured"),
    ],
)
def test_what_was_not_measured_is_dotted_and_said(missing: str, words: str) -> None:
    whole = eye_section(ordinary_case()).svg.count("stroke-dasharray")
    eye = ordinary_eye()
    changes: dict[str, Any] = {missing: None}
    biometry = replace(eye.biometry, **changes)
    drawing = eye_section(ordinary_case(eye=replace(eye, biometry=biometry)))
    assert words in said(drawing)
    assert drawing.svg.count("stroke-dasharray") > whole == 0


def test_a_chamber_from_the_endothelium_is_drawn_from_the_epithelium() -> None:
    drawing = eye_section(ordinary_case(eye=ordinary_eye(chamber_from=ChamberFrom.ENDOTHELIUM)))
    assert "chamber 3.64 mm" in said(drawing)


def test_a_chamber_of_unknown_start_is_dotted_and_says_so() -> None:
    drawing = eye_section(ordinary_case(eye=ordinary_eye(chamber_from=None)))
    assert "chamber 3.10 mm, start not known" in said(drawing)
    assert "stroke-dasharray" in drawing.svg


@pytest.mark.parametrize("status", [LensStatus.APHAKIC, LensStatus.PSEUDOPHAKIC])
def test_an_eye_without_its_own_lens_shows_none(status: LensStatus) -> None:
    drawing = eye_section(ordinary_case(eye=ordinary_eye(lens_status=status)))
    assert parts(drawing, "lens") == []
    assert "lens in the eye" in drawing.description


def test_a_spread_stands_with_its_length() -> None:
    eye = ordinary_eye()
    length = eye.biometry.axial_length_mm
    assert length is not None
    eye = replace(eye, biometry=replace(eye.biometry, axial_length_mm=replace(length, sd=0.02)))
    assert "axial length 23.50 \u00b1 0.02 mm" in said(eye_section(ordinary_case(eye=eye)))


def test_after_the_operation_the_section_says_that_it_shows_the_eye_before() -> None:
    assert "as it was before" not in eye_section(ordinary_case()).svg
    assert "as it was before" in eye_section(ordinary_case(operation=ordinary_operation())).svg
