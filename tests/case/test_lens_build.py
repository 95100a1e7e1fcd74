"""Can a lens be built as the catalogue describes it?"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from case.doubts import codes, the_one
from fakes.examples import ordinary_eye, ordinary_lens
from zonule.case.biometry import LengthConvention
from zonule.case.finding import Severity
from zonule.case.lens import (
    ConstantsAccount,
    ConstantsNotes,
    Haptic,
    LensConstants,
    LensGeometry,
    LensModel,
    Material,
    PowerRange,
)
from zonule.case.lens_build import build_problems
from zonule.case.lens_checks import lens_findings, lens_problems, refuse_impossible_lens
from zonule.errors import OutOfRangeError
from zonule.science.optics.four_surface import symmetric_thick_lens
from zonule.science.units import AQUEOUS_INDEX

SHAPE = LensGeometry(13.0, -14.08, 1.47, 0.85, at_power_dpt=19.75)
"""19.77 D by hand: 1000 * 0.134 * (1/13 + 1/14.08) = 19.825 D, less 0.85/1470 * 10.308 * 9.517 = 0.057 D."""


def shaped(**changes: Any) -> LensModel:
    return ordinary_lens(geometry=replace(SHAPE, **changes))


def test_the_power_of_a_shape_is_that_of_the_thick_lens_formula() -> None:
    assert SHAPE.power_dpt == pytest.approx(19.768, abs=0.001)
    assert list(build_problems(shaped())) == []


@given(
    st.floats(-15.0, 40.0).filter(lambda power: abs(power) > 0.5), st.floats(1.42, 1.55), st.floats(0.3, 1.5)
)
def test_a_shape_solved_for_a_label_meets_it(power_dpt: float, index: float, thickness_mm: float) -> None:
    surface_dpt = float(symmetric_thick_lens(power_dpt, thickness_mm, index).front_power_dpt)
    radius_mm = 1000.0 * (index - AQUEOUS_INDEX) / surface_dpt
    shape = LensGeometry(radius_mm, -radius_mm, index, thickness_mm, at_power_dpt=power_dpt)
    assert shape.power_dpt == pytest.approx(power_dpt, abs=1e-9)


@pytest.mark.parametrize("off_dpt", [-0.26, 0.26, 3.0])
def test_a_shape_that_misses_its_label_is_refused_with_both_numbers(off_dpt: float) -> None:
    label_dpt = round(SHAPE.power_dpt + off_dpt, 2)
    sentence = the_one(build_problems(shaped(at_power_dpt=label_dpt)), "shape-power-conflict").sentence
    assert "19.77 D" in sentence
    assert f"{label_dpt:.2f} D" in sentence
    with pytest.raises(OutOfRangeError, match=r"19\.77 D"):
        refuse_impossible_lens(shaped(at_power_dpt=label_dpt))


def test_a_back_radius_with_the_wrong_sign_is_found_by_the_label() -> None:
    assert codes(build_problems(shaped(back_radius_mm=14.08))) == {"shape-power-conflict"}


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"front_radius_mm": 0.0}, "front_radius_mm"),
        ({"back_radius_mm": -2e6}, "back_radius_mm"),
        ({"refractive_index": 1.336}, "refractive_index"),
        ({"thickness_mm": 850.0}, "thickness_mm"),
        ({"front_conic": 90.0}, "front_conic"),
        ({"back_conic": -90.0}, "back_conic"),
        ({"at_power_dpt": 31.0}, "at_power_dpt"),
    ],
)
def test_a_part_of_a_shape_that_cannot_be_is_named(wrong: dict[str, float], where: str) -> None:
    finding = the_one(build_problems(shaped(**wrong)), "impossible-shape")
    assert finding.where == f"lens.geometry.{where}"


@pytest.mark.parametrize("cylinders", [(1.0, 1.0), (1.5, 1.0), (0.0, 1.0), (-1.0,), (21.0,)])
def test_cylinders_that_do_not_rise_from_above_zero_are_refused(cylinders: tuple[float, ...]) -> None:
    assert codes(build_problems(ordinary_lens(cylinders_dpt=cylinders))) == {"impossible-cylinders"}
    assert codes(build_problems(ordinary_lens(cylinders_dpt=(1.0, 1.5, 2.25)))) == set()


def test_widths_and_materials_that_cannot_be_are_refused() -> None:
    assert codes(build_problems(ordinary_lens(optic_mm=60.0))) == {"impossible-width"}
    assert codes(build_problems(ordinary_lens(overall_mm=130.0))) == {"impossible-width"}
    assert codes(lens_problems(ordinary_lens(material=Material("glass")))) == {"unknown-material"}


def test_a_plan_is_stopped_by_a_lens_that_cannot_be_and_not_by_a_word_of_an_old_record() -> None:
    wrong = shaped(back_radius_mm=14.08)
    assert codes(lens_findings(wrong, ordinary_eye()), Severity.BLOCKING) == {"shape-power-conflict"}
    lane = ordinary_lens(constants_lane_m=600.0)
    assert codes(lens_findings(lane, ordinary_eye()), Severity.BLOCKING) == {"impossible-lane"}
    old = ordinary_lens(material=Material("soft stuff"))
    assert codes(lens_findings(old, ordinary_eye()), Severity.BLOCKING) == set()


def test_a_constant_out_of_range_is_refused_for_a_c_constant_too() -> None:
    lens = ordinary_lens(constants=LensConstants(c_constant=1.6))
    assert codes(lens_problems(lens)) == {"impossible-constant"}
    assert codes(lens_problems(replace(lens, constants=LensConstants(c_constant=0.39)))) == set()


def test_only_a_lens_for_the_bag_has_a_usual_constant() -> None:
    eye_codes = codes(lens_findings(ordinary_lens(a_constant=115.2), ordinary_eye()), Severity.WARNING)
    assert eye_codes == {"unusual-constant"}
    in_front = ordinary_lens(a_constant=115.2, haptic=Haptic.ANGLE_SUPPORTED)
    assert codes(lens_findings(in_front, ordinary_eye()), Severity.WARNING) == {"lens-not-for-the-bag"}
    impossible = ordinary_lens(a_constant=11.52, haptic=Haptic.ANGLE_SUPPORTED)
    assert codes(lens_problems(impossible)) == {"impossible-constant"}


def test_an_account_of_its_own_stands_alone() -> None:
    lens = ordinary_lens(
        constants=LensConstants(a_constant=118.4, haigis=(1.3, 0.4, 0.1)),
        constants_from="a list",
        constants_lane_m=6.0,
        constants_length=LengthConvention.COMPOSITE,
        constants_notes=ConstantsNotes(
            haigis=ConstantsAccount("our eyes", length=LengthConvention.SEGMENTAL)
        ),
    )
    assert lens.account_of(("a_constant",)).constants_from == "a list"
    assert lens.account_of(("a0", "a1", "a2")) == lens.constants_notes.haigis
    findings = list(lens_findings(lens, ordinary_eye()))
    missing = the_one(findings, "constants-lane-missing")
    assert missing.where == "lens.constants_notes.haigis.lane_m"
    assert "(haigis)" in the_one(findings, "length-conventions-differ").sentence


def test_the_lane_of_an_account_must_be_a_lane() -> None:
    notes = ConstantsNotes(a_constant=ConstantsAccount("ours", lane_m=600.0))
    finding = the_one(lens_problems(ordinary_lens(constants_notes=notes)), "impossible-lane")
    assert finding.where == "lens.constants_notes.a_constant.lane_m"


@pytest.mark.parametrize(
    ("names", "values"),
    [
        (("a_constant",), (118.4,)),
        (("a0", "a1", "a2"), (1.3, 0.4, 0.1)),
        (("c_constant",), (0.39,)),
        (("surgeon_factor",), None),
        (("a_constant", "p_acd"), None),
        (("powers",), None),
        ((), None),
    ],
)
def test_constants_are_found_by_the_names_of_a_formula(
    names: tuple[str, ...], values: tuple[float, ...] | None
) -> None:
    constants = LensConstants(a_constant=118.4, haigis=(1.3, 0.4, 0.1), c_constant=0.39)
    assert constants.own(names) == values


def test_a_lens_of_minus_powers_can_be_recorded() -> None:
    lens = ordinary_lens(powers=PowerRange(-10.0, 5.0, 1.0))
    assert codes(lens_problems(lens)) == set()
    assert lens.powers.powers_dpt[0] == -10.0
