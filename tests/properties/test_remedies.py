"""The arithmetic of remedies: each, done in another model, lands where it was meant to."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.remedies import (
    add_on_power_dpt,
    corneal_change_dpt,
    eye_as_it_turned_out,
    position_scatter_dpt,
    refraction_with_add_on_dpt,
    rough_add_on_power_dpt,
)
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_power_dpt, refraction_dpt
from zonule.science.optics.four_surface import (
    Cornea,
    equivalent_corneal_power_dpt,
    refraction_for_vergence_dpt,
    thin_lens_refraction_dpt,
    vergence_further_on_dpt,
)
from zonule.science.optics.vergence import refraction_at_cornea_dpt
from zonule.science.units import AQUEOUS_INDEX, MM_PER_M

CHAIN = Cornea(7.70, 0.84 * 7.70, 0.55)
errors = st.floats(-5.0, 5.0).filter(lambda one: abs(one) > 0.05)
aims = st.floats(-3.0, 1.0)
corneas = st.floats(40.0, 47.0)
places = st.floats(3.0, 5.5)


def as_printed(now: float, wanted: float, cornea: float, place: float, vertex: float) -> float:
    """Holladay 1993 as it is usually printed, with every inner reciprocal."""

    def term(refraction: float) -> float:
        return 1336.0 / (1336.0 / (1000.0 / (1000.0 / refraction - vertex) + cornea) - place)

    return term(now) - term(wanted)


@given(errors, errors, corneas, places, st.floats(10.0, 14.0))
def test_the_add_on_lens_is_that_of_the_printed_formula(
    now: float, wanted: float, cornea: float, place: float, vertex: float
) -> None:
    printed = as_printed(now, wanted, cornea, place, vertex)
    assert add_on_power_dpt(now, wanted, cornea, place, vertex) == pytest.approx(printed, abs=1e-9)


def with_two_lenses(eye: ThinLensEye, power: float, add_on: float, place: float) -> float:
    """The refraction of a thin-lens eye with a second lens in front of the first, traced from the retina."""
    index = AQUEOUS_INDEX * MM_PER_M
    before_first = index / (eye.optical_length_mm - eye.lens_position_mm) - power
    at_add_on = vergence_further_on_dpt(before_first, place - eye.lens_position_mm, AQUEOUS_INDEX)
    at_cornea = vergence_further_on_dpt(at_add_on - add_on, -place, AQUEOUS_INDEX) - eye.corneal_power_dpt
    return float(at_cornea / (1.0 + 0.012 * at_cornea))


@given(st.floats(21.0, 27.0), corneas, st.floats(4.5, 6.0), st.floats(10.0, 28.0), aims)
def test_the_add_on_lens_put_into_the_thin_lens_eye_lands_on_the_aim(
    length: float, cornea: float, place: float, power: float, aim: float
) -> None:
    eye = ThinLensEye(cornea, length, place, 0)
    now = float(refraction_dpt(eye, power))
    add_on = add_on_power_dpt(now, aim, cornea, place - 0.5)
    assert with_two_lenses(eye, power, float(add_on), place - 0.5) == pytest.approx(aim, abs=0.01)


@pytest.mark.parametrize("now_length_mm", [22.5, 23.0, 24.2, 24.8])
def test_the_add_on_lens_put_into_an_eye_of_four_surfaces_lands_on_the_aim_within_0_05_d(
    now_length_mm: float,
) -> None:
    """The net corneal power of the formula is no surface of the other eye; that is what the rest is."""
    now = float(thin_lens_refraction_dpt(CHAIN, now_length_mm, 5.0, 21.0))
    add_on = add_on_power_dpt(now, 0.0, equivalent_corneal_power_dpt(CHAIN), 4.5)
    before_first = MM_PER_M * AQUEOUS_INDEX / (now_length_mm - 5.0) - 21.0
    at_add_on = vergence_further_on_dpt(before_first, -0.5, AQUEOUS_INDEX) - add_on
    behind_cornea = vergence_further_on_dpt(at_add_on, -(4.5 - CHAIN.thickness_mm), AQUEOUS_INDEX)
    assert abs(now) > 0.5
    assert float(refraction_for_vergence_dpt(CHAIN, behind_cornea)) == pytest.approx(0.0, abs=0.05)


@given(errors, st.floats(-8.0, 8.0), corneas, places)
def test_what_an_add_on_lens_leaves_is_the_inverse_of_the_formula(
    now: float, add_on: float, cornea: float, place: float
) -> None:
    left = refraction_with_add_on_dpt(now, add_on, cornea, place)
    assert add_on_power_dpt(now, left, cornea, place) == pytest.approx(add_on, abs=1e-9)


@given(aims, corneas, places)
def test_an_eye_that_is_where_it_should_be_needs_no_add_on_lens(
    aim: float, cornea: float, place: float
) -> None:
    assert add_on_power_dpt(aim, aim, cornea, place) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("now", "lowest", "highest"), [(2.0, 0.9, 1.0), (-2.0, 1.2, 1.4)])
def test_the_short_rule_is_near_for_a_long_sighted_error_and_short_for_a_short_sighted_one(
    now: float, lowest: float, highest: float
) -> None:
    """Vergence over rule: 0.94 and 1.33. The rule is common practice, no source."""
    by_vergence = add_on_power_dpt(now, 0.0, 43.0, 4.5)
    assert lowest < by_vergence / float(rough_add_on_power_dpt(now)) < highest


@given(st.floats(21.0, 27.0), corneas, st.floats(4.0, 6.0), st.floats(10.0, 28.0), st.floats(-0.6, 0.6), aims)
def test_the_lens_exchanged_for_lands_on_the_aim_if_it_lies_where_the_first_one_lay(
    length: float, cornea: float, place: float, power: float, moved: float, aim: float
) -> None:
    truth = ThinLensEye(cornea, length, place + moved, 0)
    planned = ThinLensEye(cornea, length, place, 0)
    got = refraction_dpt(truth, power)
    needed = lens_power_dpt(eye_as_it_turned_out(planned, power, got), aim)
    assert float(refraction_dpt(truth, needed)) == pytest.approx(aim, abs=1e-7)


def test_a_lens_exchanged_in_an_eye_of_four_surfaces_lands_on_the_aim_within_0_05_d() -> None:
    planned = ThinLensEye(equivalent_corneal_power_dpt(CHAIN), 23.5, 5.0, 0)
    got = thin_lens_refraction_dpt(CHAIN, 23.5, 5.7, 19.0)
    needed = float(lens_power_dpt(eye_as_it_turned_out(planned, 19.0, got), 0.0))
    assert float(thin_lens_refraction_dpt(CHAIN, 23.5, 5.7, needed)) == pytest.approx(0.0, abs=0.05)
    assert abs(float(got)) > 1.0


def test_a_wrong_label_carries_over_into_the_exchange() -> None:
    """Labelled 20 D and really 18 D: what is worked out from the label is as wrong as the label."""
    eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    got = refraction_dpt(eye, 18.0)
    by_label = float(lens_power_dpt(eye_as_it_turned_out(eye, 20.0, got), 0.0))
    assert by_label - float(lens_power_dpt(eye, 0.0)) == pytest.approx(2.0, abs=0.3)


@given(errors, aims, st.floats(10.0, 14.0))
def test_laser_changes_the_refraction_at_the_cornea_by_what_is_asked(
    now: float, aim: float, vertex: float
) -> None:
    change = corneal_change_dpt(now, aim, vertex)
    then = refraction_at_cornea_dpt(now, vertex) - change
    assert then / (1.0 + vertex / 1000.0 * then) == pytest.approx(aim, abs=1e-9)


@given(corneas, st.floats(21.0, 27.0), st.floats(4.0, 6.0), st.floats(10.0, 28.0))
def test_a_stronger_lens_scatters_more_by_its_place(
    cornea: float, length: float, place: float, power: float
) -> None:
    eye = ThinLensEye(cornea, length, place, 0)
    assert position_scatter_dpt(eye, power + 2.0, 0.3) > position_scatter_dpt(eye, power, 0.3)


def test_an_eye_that_no_position_explains_is_flagged_and_has_no_number() -> None:
    turned_out = eye_as_it_turned_out(ThinLensEye(43.5, 23.5, 5.0, 0), 2.0, -15.0)
    assert FormulaFlag(int(turned_out.flags)) == FormulaFlag.LENS_OUTSIDE_EYE
    assert np.isnan(lens_power_dpt(turned_out, 0.0))


def test_the_eye_as_it_turned_out_gives_its_own_refraction_back() -> None:
    planned = ThinLensEye(43.5, 23.5, 5.0, 0)
    got = np.array([-1.5, 0.0, 1.5])
    turned_out = eye_as_it_turned_out(planned, 20.0, got)
    assert np.asarray(refraction_dpt(turned_out, 20.0)).tolist() == pytest.approx(got.tolist(), abs=1e-9)
