"""Laws of the methods for corneas after laser or radial keratotomy."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from properties.paper_algebra import TouchedEye, touched_power_dpt
from zonule.science.lens_power import double_k, hoffer_q, holladay_1, srk_t
from zonule.science.lens_power.corrected_cornea import (
    CORRECTIONS,
    CorrectedCornea,
    haigis_l_cornea,
    shammas_hyperopic,
    shammas_without_history,
)
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import (
    FORMULAS,
    THIN_LENS,
    EyeNumbers,
    Family,
    Formula,
    formulas_for,
    seen_eye,
)
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_power_dpt, refraction_dpt

EXACT_DPT = 1e-9
ROWS = [row for row in FORMULAS.values() if row.optics is THIN_LENS]
OPERATED = [row for row in ROWS if row.family is Family.AFTER_SURGERY]
DOUBLE_K = [row for row in OPERATED if row.method.endswith("_double_k")]
A_CONSTANT, SURGEON_FACTOR_MM, P_ACD_MM = 118.4, 1.44992, 5.198688

TOUCHED_EYES = st.builds(
    TouchedEye,
    st.floats(20.0, 33.0),
    st.floats(32.0, 50.0),
    st.floats(2.0, 4.5),
    st.floats(38.0, 48.0),
    st.floats(-12.0, 6.0),
)
TARGETS_DPT = st.floats(-4.0, 3.0)
A_CONSTANTS = st.floats(117.0, 120.0)


def row_name(row: Formula) -> str:
    return row.key


every_operated = pytest.mark.parametrize("row", OPERATED, ids=row_name)
every_double_k = pytest.mark.parametrize("row", DOUBLE_K, ids=row_name)


def numbers(eye: TouchedEye) -> EyeNumbers:
    return EyeNumbers(
        eye.length_mm,
        eye.k_dpt,
        eye.depth_mm,
        mean_k_before_dpt=eye.k_before_dpt,
        treated_at_cornea_dpt=eye.treated_dpt,
    )


def number(value: object) -> float:
    return float(np.asarray(value))


def seen_by(row: Formula, eye: EyeNumbers, a_constant: float = A_CONSTANT) -> ThinLensEye:
    seen: ThinLensEye = seen_eye(row, eye, row.first_guess(a_constant))
    return seen


def power_of(row: Formula, eye: EyeNumbers, target: float = 0.0) -> float:
    return number(lens_power_dpt(seen_by(row, eye), target))


@every_operated
@given(eye=TOUCHED_EYES, target=TARGETS_DPT, a_constant=A_CONSTANTS)
def test_a_method_gives_the_power_of_the_papers_own_algebra(
    row: Formula, eye: TouchedEye, target: float, a_constant: float
) -> None:
    found = number(lens_power_dpt(seen_by(row, numbers(eye), a_constant), target))
    paper = touched_power_dpt(row.method, row.corneas[0], eye, row.first_guess(a_constant), target)
    assert found == pytest.approx(paper, abs=EXACT_DPT)


@every_operated
@given(eye=TOUCHED_EYES, power=st.floats(5.0, 35.0))
def test_a_method_predicts_the_refraction_at_which_the_papers_power_is_the_lens(
    row: Formula, eye: TouchedEye, power: float
) -> None:
    found = number(refraction_dpt(seen_by(row, numbers(eye)), power))
    assume(abs(found) < 20.0)
    paper = touched_power_dpt(row.method, row.corneas[0], eye, row.first_guess(A_CONSTANT), found)
    assert paper == pytest.approx(power, abs=EXACT_DPT)


@every_operated
@given(eye=TOUCHED_EYES, target=TARGETS_DPT)
def test_power_and_back_gives_the_refraction_asked_for(row: Formula, eye: TouchedEye, target: float) -> None:
    seen = seen_by(row, numbers(eye))
    assert number(refraction_dpt(seen, lens_power_dpt(seen, target))) == pytest.approx(target, abs=EXACT_DPT)


@every_operated
@given(eye=TOUCHED_EYES, longer=st.floats(0.05, 1.0))
def test_a_longer_eye_needs_a_weaker_lens(row: Formula, eye: TouchedEye, longer: float) -> None:
    grown = eye._replace(length_mm=eye.length_mm + longer)
    pair = [seen_by(row, numbers(each)) for each in (eye, grown)]
    assume(not any(int(np.asarray(seen.flags)) & FormulaFlag.NEAR_IMAGINARY_ROOT for seen in pair))
    before, after = (number(lens_power_dpt(seen, 0.0)) for seen in pair)
    assert after < before


@every_operated
@given(eye=TOUCHED_EYES, steeper=st.floats(0.05, 2.0))
def test_a_steeper_cornea_needs_a_weaker_lens(row: Formula, eye: TouchedEye, steeper: float) -> None:
    steep = eye._replace(k_dpt=eye.k_dpt + steeper)
    pair = [seen_by(row, numbers(each)) for each in (eye, steep)]
    assume(not any(int(np.asarray(seen.flags)) & FormulaFlag.NEAR_IMAGINARY_ROOT for seen in pair))
    before, after = (number(lens_power_dpt(seen, 0.0)) for seen in pair)
    assert after < before


@pytest.mark.parametrize(
    ("plain", "double", "constant"),
    [
        (srk_t.thin_lens_eye, double_k.srk_t, A_CONSTANT),
        (holladay_1.thin_lens_eye, double_k.holladay_1, SURGEON_FACTOR_MM),
        (hoffer_q.thin_lens_eye, double_k.hoffer_q, P_ACD_MM),
    ],
)
@given(length=st.floats(15.0, 38.0), k=st.floats(30.0, 60.0))
def test_double_k_with_one_cornea_before_and_after_is_the_formula_itself(
    plain: Callable[..., ThinLensEye],
    double: Callable[..., ThinLensEye],
    constant: float,
    length: float,
    k: float,
) -> None:
    assert [number(value) for value in double(length, CorrectedCornea(k), k, constant)] == [
        number(value) for value in plain(length, k, constant)
    ]


@every_double_k
@given(eye=TOUCHED_EYES, other=st.floats(32.0, 50.0))
def test_the_cornea_of_today_does_not_move_the_lens(row: Formula, eye: TouchedEye, other: float) -> None:
    places = [
        number(seen_by(row, numbers(each)).lens_position_mm) for each in (eye, eye._replace(k_dpt=other))
    ]
    assert places[0] == places[1]


@every_double_k
@given(eye=TOUCHED_EYES, other=st.floats(38.0, 48.0))
def test_the_cornea_before_does_not_bend_the_light(row: Formula, eye: TouchedEye, other: float) -> None:
    corneas = [
        number(seen_by(row, numbers(each)).corneal_power_dpt)
        for each in (eye, eye._replace(k_before_dpt=other))
    ]
    assert corneas[0] == corneas[1]


@every_double_k
@given(eye=TOUCHED_EYES)
def test_an_unknown_cornea_before_is_taken_as_43_5_d_and_flagged(row: Formula, eye: TouchedEye) -> None:
    known = numbers(eye)
    unknown = seen_by(row, known._replace(mean_k_before_dpt=math.nan))
    assumed = seen_by(row, known._replace(mean_k_before_dpt=43.5))
    assert number(unknown.lens_position_mm) == number(assumed.lens_position_mm)
    assert int(np.asarray(unknown.flags)) == int(np.asarray(assumed.flags)) | FormulaFlag.BEFORE_ASSUMED
    assert not int(np.asarray(assumed.flags)) & FormulaFlag.BEFORE_ASSUMED


@every_double_k
@pytest.mark.parametrize("length", [22.0, 24.5, 27.0])
def test_a_cornea_flattened_by_surgery_needs_a_stronger_lens_than_one_k_says(
    row: Formula, length: float
) -> None:
    eye = EyeNumbers(length, 38.0, 3.1, mean_k_before_dpt=43.5)
    as_if_born_so = eye._replace(mean_k_before_dpt=38.0)
    assert power_of(row, eye) > power_of(row, as_if_born_so) + 0.4


@every_double_k
@pytest.mark.parametrize("length", [22.0, 23.0, 24.5])
def test_a_cornea_steepened_by_surgery_needs_a_weaker_lens_than_one_k_says(
    row: Formula, length: float
) -> None:
    eye = EyeNumbers(length, 47.0, 3.1, mean_k_before_dpt=43.0)
    assert power_of(row, eye) < power_of(row, eye._replace(mean_k_before_dpt=47.0)) - 0.3


def test_double_k_brings_three_formulas_from_1_25_d_apart_to_0_19_d() -> None:
    flat, cornea = 38.0, CorrectedCornea(38.0)
    single = [
        srk_t.thin_lens_eye(24.5, flat, A_CONSTANT),
        holladay_1.thin_lens_eye(24.5, flat, SURGEON_FACTOR_MM),
        hoffer_q.thin_lens_eye(24.5, flat, P_ACD_MM),
    ]
    double = [
        double_k.srk_t(24.5, cornea, 43.5, A_CONSTANT),
        double_k.holladay_1(24.5, cornea, 43.5, SURGEON_FACTOR_MM),
        double_k.hoffer_q(24.5, cornea, 43.5, P_ACD_MM),
    ]

    def apart(eyes: list[ThinLensEye]) -> float:
        powers = [number(lens_power_dpt(eye, 0.0)) for eye in eyes]
        return max(powers) - min(powers)

    assert apart(single) == pytest.approx(1.25, abs=0.01)
    assert apart(double) == pytest.approx(0.19, abs=0.01)


@given(k=st.floats(30.0, 60.0))
def test_the_hyperopic_correction_changes_sign_at_its_fixed_point(k: float) -> None:
    fixed = 1.9538 / 0.0457
    assert fixed == pytest.approx(42.753, abs=5e-4)
    assume(abs(k - fixed) > 1e-6)
    assert (number(shammas_hyperopic(k).power_dpt) > k) is (k > fixed)


@given(k=st.floats(32.0, 48.5))
def test_the_myopic_corrections_always_flatten(k: float) -> None:
    assert number(shammas_without_history(k).power_dpt) < k
    assert number(haigis_l_cornea(k).power_dpt) < k - 0.83


@given(k=st.floats(36.0, 42.0))
def test_haigis_l_and_shammas_agree_within_0_26_dioptre(k: float) -> None:
    assert abs(number(haigis_l_cornea(k).power_dpt) - number(shammas_without_history(k).power_dpt)) < 0.26


@given(k=st.floats(32.0, 50.0), before=st.floats(38.0, 48.0))
def test_jarade_and_savini_say_the_same_in_other_words(k: float, before: float) -> None:
    one, other = (
        number(CORRECTIONS[key].corrected(k, before).power_dpt) for key in ("jarade", "savini_speicher")
    )
    assert one == pytest.approx(other, abs=2e-3)


def independent_corrections(eye: TouchedEye) -> dict[str, float]:
    """The papers' own algebra for corneal powers, from radii and lost dioptres."""
    radius, before = 337.5 / eye.k_dpt, 337.5 / eye.k_before_dpt
    return {
        "clinical_history": eye.k_before_dpt - (-eye.treated_dpt),
        "shammas_from_treatment": eye.k_dpt - 0.23 * (-eye.treated_dpt),
        "shammas_without_history": 1.14 * eye.k_dpt - 6.8,
        "savini_speicher": 1.114 * eye.k_dpt - 0.114 * eye.k_before_dpt,
        "jarade": eye.k_before_dpt - 376.0 / before + 376.0 / radius,
        "haigis_l": 337.5 / (331.5 / (-5.1625 * radius + 82.2603 - 0.35)),
        "rosa_r_factor": 337.5 / (radius * (0.0276 * eye.length_mm + 0.3635)),
        "shammas_hyperopic": 1.0457 * eye.k_dpt - 1.9538,
    }


@pytest.mark.parametrize("key", CORRECTIONS)
@given(eye=TOUCHED_EYES)
def test_a_corrected_cornea_is_that_of_the_papers_own_algebra(key: str, eye: TouchedEye) -> None:
    correction = CORRECTIONS[key]
    read = [getattr(numbers(eye), name) for name in correction.reads]
    found = number(correction.corrected(*read).power_dpt)
    assert found == pytest.approx(independent_corrections(eye)[key], abs=EXACT_DPT)


@pytest.mark.parametrize("key", CORRECTIONS)
def test_a_corrected_cornea_cannot_be_corrected_again(key: str) -> None:
    correction = CORRECTIONS[key]
    corrected: Any = CorrectedCornea(np.array([36.5]))
    usual: dict[str, Any] = EyeNumbers(26.0, corrected, 3.4)._asdict() | {
        "mean_k_before_dpt": corrected,
        "treated_at_cornea_dpt": -5.0,
    }
    with pytest.raises(TypeError):
        correction.corrected(*(usual[name] for name in correction.reads))


@pytest.mark.parametrize("row", ROWS, ids=row_name)
@pytest.mark.parametrize("corrected", [CorrectedCornea(36.5), CorrectedCornea(np.array([36.5, 38.0]))])
def test_no_method_takes_a_corrected_cornea_for_a_reading(row: Formula, corrected: CorrectedCornea) -> None:
    eye = EyeNumbers(26.0, corrected, 3.4, 4.5, 0.54, 6.4, 43.0, -5.0)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        lens_power_dpt(seen_by(row, eye), 0.0)


@pytest.mark.parametrize("key", ["masket", "modified_masket"])
def test_masket_without_a_known_treatment_has_no_answer_and_a_flag(key: str) -> None:
    seen = seen_by(formulas_for("myopic_laser")[key], EyeNumbers(26.0, 38.0, 3.4))
    assert math.isnan(number(lens_power_dpt(seen, 0.0)))
    assert int(np.asarray(seen.flags)) & FormulaFlag.LENS_OUTSIDE_EYE


@given(treated=st.floats(-12.0, -0.5), more=st.floats(0.1, 2.0))
def test_masket_adds_more_power_for_more_short_sight_treated(treated: float, more: float) -> None:
    rows = formulas_for("myopic_laser")
    for key in ("masket", "modified_masket"):
        less, further = (
            power_of(rows[key], EyeNumbers(26.0, 38.0, 3.4, treated_at_cornea_dpt=each))
            for each in (treated, treated - more)
        )
        assert further > less


def test_the_methods_for_three_kinds_of_surgery_are_those_published_for_them() -> None:
    double = {"srk_t_double_k", "holladay_1_double_k", "hoffer_q_double_k"}
    as_measured = {"four_surface", "ray_traced"}
    assert set(formulas_for("myopic_laser")) == as_measured | double | {
        *("shammas_pl", "haigis_l_myopic", "haigis_shammas_k", "masket", "modified_masket"),
    }
    assert set(formulas_for("hyperopic_laser")) == as_measured | double | {"shammas_phl", "masket_hyperopic"}
    assert set(formulas_for("radial_keratotomy")) == as_measured | double | {"haigis"}
    assert set(formulas_for("graft")) == as_measured


@pytest.mark.parametrize("row", DOUBLE_K, ids=row_name)
def test_rows_of_one_method_differ_in_cornea_and_kernel_alone(row: Formula) -> None:
    def same(one: Formula) -> tuple[object, ...]:
        return (one.name, one.constant_names, one.reads, one.may_lack, one.source, one.status)

    others = [one for one in ROWS if one.method == row.method]
    assert len(others) == 3
    assert {same(one) for one in others} == {same(row)}
    assert len({one.kernel for one in others}) == len({one.corneas for one in others}) == 3


@pytest.mark.parametrize("row", OPERATED, ids=row_name)
def test_a_key_stands_for_one_kind_of_surgery(row: Formula) -> None:
    (cornea,) = row.corneas
    assert formulas_for(cornea)[row.method] is row is FORMULAS[row.key]


@pytest.mark.parametrize("row", ROWS, ids=row_name)
def test_every_method_takes_the_constants_of_one_of_four_formulas(row: Formula) -> None:
    four = [FORMULAS[key] for key in ("srk_t", "holladay_1", "hoffer_q", "haigis")]
    (plain,) = [one for one in four if one.constant_names == row.constant_names]
    assert row.first_guess(A_CONSTANT) == plain.first_guess(A_CONSTANT)
