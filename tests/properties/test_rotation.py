"""Laws of turning a toric lens after surgery."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from zonule.errors import InconsistentRecordError
from zonule.science.astigmatism.rotation import best_rotation, minus_form, sweep
from zonule.science.astigmatism.toric_lens import residual
from zonule.science.astigmatism.vectors import Plane, SpheroCylinder, sphero_cylinder, steep

SPHERES = st.floats(-3.0, 3.0)
CYLINDERS = st.floats(-3.0, 3.0)
AXES = st.floats(0.0, 180.0)
LENSES = st.floats(0.5, 4.0)
REFRACTIONS = st.builds(
    lambda sphere, cylinder, axis: sphero_cylinder(sphere, cylinder, axis, Plane.CORNEA),
    SPHERES,
    CYLINDERS,
    AXES,
)
EVERY_DEGREE = np.arange(0.0, 180.0)


@given(seen=REFRACTIONS, lens=LENSES, at=AXES)
def test_no_other_meridian_is_better_than_the_best(seen: SpheroCylinder, lens: float, at: float) -> None:
    turn = best_rotation(seen, lens, at)
    others = sweep(seen, lens, at, EVERY_DEGREE).correcting.magnitude_dpt
    assert turn.best.correcting.magnitude_dpt <= np.min(others) + 1e-9


@given(seen=REFRACTIONS, lens=LENSES, at=AXES)
def test_where_the_lens_lies_now_the_sweep_gives_the_refraction_that_was_seen(
    seen: SpheroCylinder, lens: float, at: float
) -> None:
    there = sweep(seen, lens, at, at)
    assert there.correcting.minus(seen.correcting).magnitude_dpt == pytest.approx(0.0, abs=1e-9)
    half_a_turn_on = sweep(seen, lens, at, at + 180.0)
    assert half_a_turn_on.correcting.minus(seen.correcting).magnitude_dpt == pytest.approx(0.0, abs=1e-9)


@given(seen=REFRACTIONS, lens=LENSES, at=AXES)
def test_turning_never_makes_the_best_worse_and_keeps_the_spherical_equivalent(
    seen: SpheroCylinder, lens: float, at: float
) -> None:
    turn = best_rotation(seen, lens, at)
    assert turn.gain_dpt >= 0.0
    assert turn.best.equivalent_dpt == seen.equivalent_dpt
    best = turn.best.correcting.magnitude_dpt
    assert best == pytest.approx(abs(turn.to_correct.magnitude_dpt - lens), abs=1e-9)
    assert turn.gain_dpt == pytest.approx(seen.correcting.magnitude_dpt - best, abs=1e-9)


@given(seen=REFRACTIONS, lens=LENSES, at=AXES)
def test_the_turn_leads_from_the_marks_to_the_best_meridian_by_the_shorter_way(
    seen: SpheroCylinder, lens: float, at: float
) -> None:
    turn = best_rotation(seen, lens, at)
    assert -90.0 < float(turn.rotate_by_deg) <= 90.0
    whole_turns = float(at + turn.rotate_by_deg - turn.best_meridian_deg) / 180.0
    assert whole_turns == pytest.approx(round(whole_turns), abs=1e-9)


@given(cornea=LENSES, meridian=AXES, lens=LENSES, off=st.floats(-80.0, 80.0), sphere=SPHERES)
def test_a_lens_that_turned_away_is_turned_back(
    cornea: float, meridian: float, lens: float, off: float, sphere: float
) -> None:
    left = residual(steep(cornea, meridian, Plane.CORNEA), lens, meridian + off)
    turn = best_rotation(SpheroCylinder(sphere, left), lens, meridian + off)
    assert turn.rotate_by_deg == pytest.approx(-off, abs=1e-6)
    assert turn.to_correct.magnitude_dpt == pytest.approx(cornea, abs=1e-9)


@given(seen=REFRACTIONS, lens=LENSES, at=AXES)
def test_a_second_turn_finds_nothing_to_gain(seen: SpheroCylinder, lens: float, at: float) -> None:
    first = best_rotation(seen, lens, at)
    assume(first.to_correct.magnitude_dpt > 1e-3)
    second = best_rotation(first.best, lens, first.best_meridian_deg)
    assert second.gain_dpt == pytest.approx(0.0, abs=1e-9)
    assert second.rotate_by_deg == pytest.approx(0.0, abs=1e-6)


@given(seen=REFRACTIONS, lens=LENSES, at=AXES)
def test_the_mirrored_eye_is_turned_the_other_way(seen: SpheroCylinder, lens: float, at: float) -> None:
    here = best_rotation(seen, lens, at)
    assume(here.to_correct.magnitude_dpt > 1e-3)
    assume(np.abs(here.rotate_by_deg) < 89.999)
    there = best_rotation(SpheroCylinder(seen.equivalent_dpt, seen.correcting.mirrored()), lens, 180.0 - at)
    assert there.rotate_by_deg == pytest.approx(-here.rotate_by_deg, abs=1e-6)
    assert there.gain_dpt == pytest.approx(here.gain_dpt, abs=1e-9)


@given(sphere=SPHERES, cylinder=st.floats(-3.0, -0.01), axis=st.floats(0.1, 180.0))
def test_a_minus_form_is_written_as_it_was_read(sphere: float, cylinder: float, axis: float) -> None:
    written = minus_form(sphero_cylinder(sphere, cylinder, axis, Plane.CORNEA))
    assert list(map(float, written)) == pytest.approx([sphere, cylinder, axis], abs=1e-9)


@given(sphere=SPHERES, cylinder=st.floats(0.01, 3.0), axis=AXES)
def test_a_plus_form_is_written_with_its_minus_cylinder_across(
    sphere: float, cylinder: float, axis: float
) -> None:
    written = minus_form(sphero_cylinder(sphere, cylinder, axis, Plane.CORNEA))
    assert written.sphere_dpt == pytest.approx(sphere + cylinder, abs=1e-9)
    assert written.cylinder_dpt == pytest.approx(-cylinder, abs=1e-9)
    across = (written.axis_deg - axis) % 180.0
    assert across == pytest.approx(90.0, abs=1e-6)


def test_many_eyes_are_turned_at_once() -> None:
    cylinders, axes = np.array([-1.0, -1.5]), np.array([40.0, 30.0])
    seen = sphero_cylinder(np.array([0.5, 0.25]), cylinders, axes, Plane.CORNEA)
    turn = best_rotation(seen, 2.0, np.array([95.0, 80.0]))
    assert turn.rotate_by_deg == pytest.approx([10.9, 16.6], abs=0.05)


def test_a_refraction_at_the_glasses_is_refused() -> None:
    with pytest.raises(InconsistentRecordError):
        best_rotation(sphero_cylinder(0.5, -1.0, 40.0, Plane.SPECTACLES), 2.0, 95.0)
