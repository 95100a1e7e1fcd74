"""Are these the constants of this lens?"""

from __future__ import annotations

import pytest

from case.doubts import codes, the_one
from fakes.examples import ordinary_eye, ordinary_lens
from zonule.case.biometry import LengthConvention
from zonule.case.finding import Finding, Severity
from zonule.case.lens import LensConstants, LensModel
from zonule.case.lens_checks import lens_findings
from zonule.science.lens_power.constants import (
    haigis_from_a,
    p_acd_from_a_mm,
    surgeon_factor_from_a_mm,
)

BLOCKING, WARNING, NOTE = Severity.BLOCKING, Severity.WARNING, Severity.NOTE


def found(lens: LensModel) -> list[Finding]:
    return list(lens_findings(lens, ordinary_eye()))


def with_constants(**constants: object) -> LensModel:
    return ordinary_lens(constants=LensConstants(**constants), constants_lane_m=6.0)  # type: ignore[arg-type]


def test_a_lens_with_a_usual_constant_and_a_known_lane_raises_nothing() -> None:
    assert found(ordinary_lens(constants_lane_m=6.0)) == []


def test_a_lens_without_any_constant_blocks() -> None:
    assert the_one(found(ordinary_lens(a_constant=None)), "lens-constants-missing").severity is BLOCKING


def test_the_lane_that_is_assumed_is_said() -> None:
    finding = the_one(found(ordinary_lens()), "constants-lane-missing")
    assert finding.severity is NOTE
    assert "6 m is assumed" in finding.sentence


@pytest.mark.parametrize("a_constant", [109.9, 125.1, 11.84])
def test_an_impossible_a_constant_blocks(a_constant: float) -> None:
    assert the_one(found(with_constants(a_constant=a_constant)), "impossible-constant").severity is BLOCKING


@pytest.mark.parametrize(
    ("a_constant", "unusual"), [(117.4, True), (117.5, False), (119.7, False), (119.8, True)]
)
def test_an_unusual_a_constant_is_a_warning(a_constant: float, unusual: bool) -> None:
    assert codes(found(with_constants(a_constant=a_constant)), WARNING) == (
        {"unusual-constant"} if unusual else set()
    )


@pytest.mark.parametrize("a_constant", [117.5, 118.4, 119.7])
def test_constants_that_belong_to_a_usual_lens_are_usual(a_constant: float) -> None:
    lens = with_constants(
        surgeon_factor=surgeon_factor_from_a_mm(a_constant),
        p_acd=p_acd_from_a_mm(a_constant),
        haigis=haigis_from_a(a_constant),
    )
    assert found(lens) == []


@pytest.mark.parametrize(
    ("constants", "where"),
    [
        ({"surgeon_factor": 5.2}, "lens.surgeon_factor"),
        ({"surgeon_factor": 118.4}, "lens.surgeon_factor"),
        ({"p_acd": 1.45}, "lens.p_acd"),
        ({"p_acd": 118.4}, "lens.p_acd"),
        ({"haigis": (5.2, 0.4, 0.1)}, "lens.haigis"),
        ({"haigis": (1.5, 0.1, 0.4)}, "lens.haigis"),
    ],
)
def test_a_constant_in_the_place_of_another_blocks(constants: dict[str, object], where: str) -> None:
    findings = found(with_constants(**constants))
    assert (codes(findings), findings[0].where) == ({"impossible-constant"}, where)


def test_constants_and_length_of_two_conventions_are_a_warning() -> None:
    lens = ordinary_lens(constants_length=LengthConvention.SEGMENTAL)
    assert the_one(found(lens), "length-conventions-differ").severity is WARNING
    same = ordinary_lens(constants_length=LengthConvention.COMPOSITE)
    assert "length-conventions-differ" not in codes(found(same))
