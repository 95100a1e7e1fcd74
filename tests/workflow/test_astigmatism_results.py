"""What reviewed eyes say of astigmatism, against answers known in closed form and against their own plans."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fakes.examples import (
    LENS_NAME,
    SURGEON,
    ordinary_eye,
    ordinary_history,
    ordinary_incision_lesson,
    ordinary_lens,
)
from fakes.refracted import LESSON_WIDTH_MM, cornea, left, refracted_case, toric_case, visit
from workflow.clinic import KEY, REVIEWED_ON, TODAY, review
from workflow.toric_clinic import operated_toric_clinic
from zonule.case.astigmatism_results import AstigmatismResults, ModelMisses, TurnFrom
from zonule.case.biometry import CorneaKind
from zonule.case.case import Case
from zonule.case.eye import CornealSurgery
from zonule.case.incision import Incision, Place
from zonule.case.measured import Measured
from zonule.case.operation import Complication, Fixation
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.toric import CorneaModelName
from zonule.science.astigmatism.vectors import Astigmatism, Plane, at_cornea, sphero_cylinder, steep
from zonule.workflow.astigmatism_results import look_back_at_astigmatism, results_from
from zonule.workflow.cornea_models import totals, totals_of_many
from zonule.workflow.forecast import plan_eye, with_chosen_power
from zonule.workflow.vector_groups import outline_of

FRONT, USUAL = CorneaModelName.ANTERIOR, CorneaModelName.ABULAFIA_KOCH_2016


def results(*cases: Case) -> AstigmatismResults:
    return results_from(cases, ())


def misses(found: AstigmatismResults, key: CorneaModelName = FRONT) -> ModelMisses:
    (one,) = [model for model in found.models if model.key is key]
    return one


def points(vectors: Astigmatism) -> list[tuple[float, float]]:
    return list(zip(np.asarray(vectors.x_dpt).tolist(), np.asarray(vectors.y_dpt).tolist(), strict=True))


def point(size_dpt: float, meridian_deg: float) -> tuple[float, float]:
    twice = math.radians(2.0 * meridian_deg)
    return size_dpt * math.cos(twice), size_dpt * math.sin(twice)


# --- what was left ----------------------------------------------------------------------------------------


def test_the_residual_is_the_refraction_moved_to_the_cornea_meridian_by_meridian() -> None:
    glasses = Refraction(-6.0, -2.0, 10.0, vertex_mm=14.0)
    found = results(refracted_case(refraction=glasses)).residual
    assert found is not None
    # Each principal meridian by hand: F / (1 - d F).
    high, low = -6.0 / (1.0 + 0.014 * 6.0), -8.0 / (1.0 + 0.014 * 8.0)
    assert points(found.vectors)[0] == pytest.approx(point(high - low, 100.0))


def test_plus_and_minus_cylinder_leave_the_same() -> None:
    two = [Refraction(-1.0, -1.5, 20.0), Refraction(-2.5, 1.5, 110.0)]
    found = results(*(refracted_case(number, refraction=one) for number, one in enumerate(two))).residual
    assert found is not None
    assert points(found.vectors)[0] == pytest.approx(points(found.vectors)[1])


def test_a_vertex_distance_of_zero_is_the_cornea_and_no_cylinder_needs_no_axis() -> None:
    found = results(
        refracted_case(0, refraction=left(0.75, 30.0)), refracted_case(1, refraction=Refraction(-1.0))
    ).residual
    assert found is not None
    assert points(found.vectors) == [pytest.approx(point(0.75, 30.0)), pytest.approx((0.0, 0.0))]


def test_eyes_and_patients_are_counted_apart() -> None:
    found = results(
        refracted_case(0), refracted_case(0, side=Side.LEFT), refracted_case(1, refraction=left(0.5, 20.0))
    ).residual
    assert found is not None
    assert (found.found.eyes, found.patients, found.second_eyes) == (3, 2, 1)


# --- predicted against achieved ---------------------------------------------------------------------------


def test_without_lens_cylinder_and_incision_the_front_is_what_the_front_model_predicts() -> None:
    found = results(refracted_case(before=cornea(1.25, 20.0), refraction=left(1.0, 30.0)))
    expected = np.subtract(point(1.0, 30.0), point(1.25, 20.0))
    assert points(misses(found).misses.vectors)[0] == pytest.approx(expected)


def test_every_model_is_judged_by_its_own_published_equation() -> None:
    found = results(refracted_case(before=cornea(1.0, 90.0), refraction=left(0.418, 89.4)))
    # Worked values: 1.00 at 90 is 0.418 at 89.4 by Abulafia and Koch, 0.482, 0.630, 0.750 by the others.
    assert found.models[0].key is USUAL
    assert misses(found, USUAL).misses.found.mean_magnitude_dpt == pytest.approx(0.0, abs=6e-4)
    sizes = {one.key: one.misses.found.mean_magnitude_dpt for one in found.models}
    assert sizes[CorneaModelName.SAVINI_NAESER] == pytest.approx(0.482 - 0.418, abs=6e-3)
    assert sizes[CorneaModelName.REGRESSION_2017] == pytest.approx(0.630 - 0.418, abs=6e-3)
    assert sizes[CorneaModelName.GOGGIN_2015] == pytest.approx(0.750 - 0.418, abs=6e-3)


def test_an_incision_is_predicted_where_it_was_made_not_where_it_was_planned() -> None:
    stated = Incision(180.0, 2.2, 0.3)
    case = refracted_case(
        before=cornea(1.0, 90.0), refraction=left(0.7, 90.0), incision=stated, incision_meridian_deg=90.0
    )
    assert misses(results(case)).misses.found.mean_magnitude_dpt == pytest.approx(0.0, abs=1e-9)
    assert case.operation is not None
    unsaid = replace(case, operation=replace(case.operation, incision_meridian_deg=None))
    # At 180 it flattens 180, so the cornea is expected to be 1.3 at 90.
    assert misses(results(unsaid)).misses.found.mean_magnitude_dpt == pytest.approx(0.6)


def test_a_lesson_accepted_since_moves_what_is_predicted_of_eyes_operated_before() -> None:
    case = refracted_case(
        before=cornea(1.0, 90.0),
        refraction=left(1.4, 90.0),
        incision=Incision(180.0, LESSON_WIDTH_MM),
        incision_meridian_deg=180.0,
        incision_width_mm=LESSON_WIDTH_MM,
    )
    lesson = ordinary_incision_lesson(
        surgeon=SURGEON, place=Place.TEMPORAL, width_mm=LESSON_WIDTH_MM, flattening_dpt=0.4, torque_dpt=0.0
    )
    before, after = results_from([case], []), results_from([case], [lesson])
    assert misses(before).misses.found.mean_magnitude_dpt == pytest.approx(0.25)
    assert misses(after).misses.found.mean_magnitude_dpt == pytest.approx(0.0, abs=1e-9)


def reviewed_toric(lens_meridian_deg: float = 95.0, **changes: Any) -> Case:
    record = operated_toric_clinic(95.0)
    review(record, left(0.5, 95.0), lens_meridian_deg=lens_meridian_deg, **changes)
    return record.case(KEY)


@pytest.fixture(scope="module")
def toric() -> Case:
    return reviewed_toric()


def test_a_toric_eye_that_ends_as_its_plan_says_is_missed_by_nothing(toric: Case) -> None:
    assert toric.signed is not None
    signed = toric.signed
    plan = with_chosen_power(plan_eye(signed.request, TODAY), signed.intent.lens_power_dpt)
    assert plan.toric is not None
    option = plan.toric.option(1.5)
    assert option is not None
    planned = option.residual.turned(0.0)
    # The plan has its lens at the exact meridian, the eye at 95 degrees: the same lens vector, turned.
    off = steep(option.cylinder_at_cornea_dpt, plan.toric.meridian_deg, Plane.CORNEA).minus(
        steep(option.cylinder_at_cornea_dpt, 95.0, Plane.CORNEA)
    )
    expected = planned.plus(off)
    assert toric.review is not None
    ended = replace(
        toric,
        review=replace(
            toric.review,
            refraction=left(float(expected.magnitude_dpt), float(expected.steep_meridian_deg)),
        ),
    )
    assert misses(results(ended)).misses.found.mean_magnitude_dpt == pytest.approx(0.0, abs=1e-9)
    change = results(ended).change
    assert change is not None
    assert change.difference.found.mean_magnitude_dpt == pytest.approx(0.0, abs=1e-9)
    assert change.indices is not None
    assert change.indices.correction_index == pytest.approx(1.0)


def test_a_lens_off_by_ten_degrees_is_predicted_where_it_lies(toric: Case) -> None:
    on, off = results(toric), results(reviewed_toric(105.0))
    moved = np.subtract(points(misses(off).misses.vectors)[0], points(misses(on).misses.vectors)[0])
    assert toric.signed is not None
    signed = toric.signed
    plan = with_chosen_power(plan_eye(signed.request, TODAY), signed.intent.lens_power_dpt)
    assert plan.toric is not None
    option = plan.toric.option(1.5)
    assert option is not None
    # 2 T sin(delta), felipe-2011.
    assert np.hypot(*moved) == pytest.approx(
        2.0 * option.cylinder_at_cornea_dpt * math.sin(math.radians(10.0))
    )


def test_where_nobody_looked_the_lens_is_taken_to_lie_as_it_was_left_and_that_is_counted() -> None:
    seen = toric_case(0, lens_meridian_deg_seen=95.0)
    looked = toric_case(1, axis_visits=(visit(1, 93.0), visit(20, 95.0), visit(60, 120.0)))
    left_there = toric_case(2, left_deg=95.0)
    meant = toric_case(3, meant_deg=95.0, left_deg=None)
    found = results(seen, looked, left_there, meant)
    assert (found.toric_eyes, found.meridian_not_seen) == (4, 2)
    where = points(misses(found).misses.vectors)
    assert all(one == pytest.approx(where[0]) for one in where)


def test_a_total_cornea_is_taken_as_it_is_and_no_model_speaks_of_it() -> None:
    given = cornea(1.0, 90.0, kind=CorneaKind.TOTAL)
    found = results(refracted_case(before=given, refraction=left(1.0, 90.0)))
    assert [one.key for one in found.models] == [CorneaModelName.TOTAL]
    assert found.models[0].misses.found.mean_magnitude_dpt == pytest.approx(0.0, abs=1e-9)


def test_many_corneas_at_once_have_the_totals_that_each_has_alone() -> None:
    measured_back = replace(
        ordinary_eye().biometry,
        keratometry=cornea(1.5, 80.0),
        posterior_flat_radius_mm=Measured(6.6),
        posterior_steep_radius_mm=Measured(6.2),
        posterior_steep_meridian_deg=92.0,
    )
    eyes = [
        *(
            replace(ordinary_eye(), biometry=replace(ordinary_eye().biometry, keratometry=one))
            for one in (
                cornea(1.0, 90.0),
                cornea(2.0, 45.0),
                cornea(0.75, 175.0),
                cornea(0.0, 180.0),
                cornea(1.0, 12.0, kind=CorneaKind.TOTAL),
            )
        ),
        replace(ordinary_eye(), history=ordinary_history(corneal_surgery=CornealSurgery.MYOPIC_LASER)),
        replace(ordinary_eye(), biometry=measured_back),
    ]
    readings = [eye.biometry.keratometry.astigmatism for eye in eyes]
    known = [one for one in readings if one is not None]
    assert len(known) == len(eyes)
    together = Astigmatism(
        np.array([float(one.x_dpt) for one in known]),
        np.array([float(one.y_dpt) for one in known]),
        Plane.CORNEA,
    )
    asked = np.array([1.4, 2.8, 1.0, 0.0, 1.4, 1.4, 2.1])
    many = totals_of_many(eyes, together, asked)
    for row, (eye, reading) in enumerate(zip(eyes, known, strict=True)):
        alone = totals(eye, reading, float(asked[row])).by_model
        speaking = {key for key, one in many.items() if np.isfinite(np.asarray(one.x_dpt)[row])}
        assert speaking == set(alone)
        for key, one in alone.items():
            assert points(many[key])[row] == pytest.approx((float(one.x_dpt), float(one.y_dpt)))


def test_models_are_compared_on_the_eyes_of_which_both_speak() -> None:
    """Seven eyes end as Goggin says, one as its front reading; of an oblique one Goggin says nothing."""
    goggin, size_dpt = CorneaModelName.GOGGIN_2015, 1.3
    sizes = [1.41 * size_dpt] * 7 + [size_dpt]
    eyes = [
        refracted_case(number, before=cornea(size_dpt, 180.0), refraction=left(size, 180.0))
        for number, size in enumerate(sizes)
    ]
    oblique = refracted_case(9, before=cornea(size_dpt, 45.0), refraction=left(size_dpt, 45.0))
    found = results(*eyes, oblique)
    assert found.models[0].key is goggin
    assert found.models[0].misses.found.mean_magnitude_dpt == pytest.approx(0.41 * size_dpt / 8)
    against = {one.other: one for one in found.compared}[FRONT]
    assert (against.better, against.eyes, against.only_better, against.only_other) == (goggin, 8, 7, 1)
    # A fair coin shows one head or none, or one tail or none, in eight tosses: 2 (1 + 8) / 2^8.
    assert against.p_value == pytest.approx(18 / 256)


def test_a_model_that_speaks_of_under_half_of_the_eyes_is_not_called_the_best() -> None:
    upright = refracted_case(0, before=cornea(1.0, 90.0), refraction=left(0.75, 90.0))
    oblique = [
        refracted_case(number, before=cornea(1.0, 45.0), refraction=left(1.0, 130.0)) for number in (1, 2)
    ]
    found = results(upright, *oblique)
    assert found.models[-1].key is CorneaModelName.GOGGIN_2015
    assert found.models[-1].misses.found.mean_magnitude_dpt == pytest.approx(0.0, abs=1e-9)


# --- which eyes count -------------------------------------------------------------------------------------


def test_eyes_that_say_nothing_are_counted_with_their_reasons() -> None:
    touched = replace(ordinary_eye(), history=ordinary_history(corneal_surgery=CornealSurgery.MYOPIC_LASER))
    toric_lens = ordinary_lens(cylinders_dpt=(1.0,))
    found = results(
        refracted_case(0),
        refracted_case(1, before=cornea(1.0, None)),
        refracted_case(2, eye=touched),
        refracted_case(3, fixation=Fixation.SULCUS),
        refracted_case(4, complication=Complication.CAPSULE_TEAR),
        refracted_case(5, days_after=20),
        refracted_case(6, lens_model="Heath Two"),
        refracted_case(7, lens=toric_lens, lens_model=LENS_NAME),
        toric_case(8, meant_deg=None, left_deg=None),
        toric_case(9, lens_power_dpt=None),
    )
    assert found.eyes == 1
    assert {one.reason: one.eyes for one in found.excluded} == {
        "no steep meridian, or no length": 1,
        "corneal surgery: myopic laser": 1,
        "lens not in the bag": 1,
        "complication": 1,
        "refracted before 28 days": 1,
        "another lens than planned": 1,
        "cylinder of the lens not recorded": 1,
        "meridian of the lens not recorded": 1,
        "power of the lens not recorded": 1,
    }


def test_no_eye_is_no_result_and_one_eye_has_no_ellipse() -> None:
    nothing = results()
    assert (nothing.eyes, nothing.residual, nothing.models, nothing.change) == (0, None, (), None)
    one = results(refracted_case()).residual
    assert one is not None
    assert (one.of_data, one.of_centroid, one.test, outline_of(one)) == (None, None, None, None)
    assert one.found.eyes == 1


def test_the_record_is_read_with_its_lessons(toric: Case) -> None:
    record = operated_toric_clinic(95.0)
    review(record, left(0.5, 95.0), lens_meridian_deg=95.0)
    found = look_back_at_astigmatism(record)
    assert (found.eyes, found.toric_eyes) == (1, 1)
    assert toric.review is not None
    assert toric.review.refracted_on == REVIEWED_ON


# --- what was meant and what was done ---------------------------------------------------------------------


def test_target_and_effect_add_up_to_what_is_missing_and_lenses_without_cylinder_stay_out() -> None:
    eyes = [toric_case(number, refraction=left(0.25 * number, 40.0)) for number in range(1, 5)]
    found = results(*eyes, refracted_case(9)).change
    assert found is not None
    assert found.target.found.eyes == 4
    missing = found.target.vectors.minus(found.induced.vectors)
    assert missing.minus(found.difference.vectors).magnitude_dpt == pytest.approx(np.zeros(4), abs=1e-12)
    # Before is the whole cornea by the model planned on, by default the usual one: 1.00 @ 90 is 0.418 @ 89.4.
    left_x_dpt, left_y_dpt = np.array([point(0.25 * number, 40.0) for number in range(1, 5)]).T
    before = found.induced.vectors.minus(Astigmatism(left_x_dpt, left_y_dpt, Plane.CORNEA))
    assert -np.asarray(before.x_dpt) == pytest.approx(np.full(4, 0.508 - 0.926))


# --- how lenses turned ------------------------------------------------------------------------------------


def turns(found: AstigmatismResults, between: TurnFrom) -> tuple[float, ...]:
    (one,) = [each for each in found.turns if each.between is between]
    assert (one.results is None) == (not one.turns_deg)
    return one.turns_deg


def test_turns_are_told_from_the_plan_to_each_look_and_across_the_end_of_the_scale() -> None:
    case = toric_case(
        meant_deg=178.0,
        left_deg=2.0,
        axis_visits=(visit(1, 5.0), visit(14, 6.0)),
        lens_meridian_deg_seen=8.0,
    )
    found = results(case)
    assert turns(found, TurnFrom.PLAN_TO_END) == pytest.approx((4.0,))
    assert turns(found, TurnFrom.PLAN_TO_VISIT) == pytest.approx((8.0,))
    assert turns(found, TurnFrom.PLAN_TO_REVIEW) == pytest.approx((10.0,))
    assert turns(found, TurnFrom.VISIT_TO_VISIT) == ()


def test_of_several_looks_the_two_nearest_to_three_months_apart_are_compared() -> None:
    near = toric_case(0, axis_visits=(visit(1, 90.0), visit(62, 91.0), visit(95, 87.0), visit(200, 80.0)))
    with_review = toric_case(1, lens_meridian_deg_seen=92.0, axis_visits=(visit(130, 89.0),))
    at_the_end_only = toric_case(2, axis_visits=(visit(91, 80.0),))
    found = results(near, with_review, at_the_end_only)
    assert turns(found, TurnFrom.VISIT_TO_VISIT) == pytest.approx((-3.0, -3.0))


def test_lenses_outside_the_bag_and_lenses_without_marks_do_not_turn_here() -> None:
    found = results(
        toric_case(0, fixation=Fixation.SULCUS),
        toric_case(1, complication=Complication.ZONULE_LOSS),
        refracted_case(2),
    )
    assert all(one.turns_deg == () for one in found.turns)


def test_an_eye_refracted_too_early_still_shows_how_its_lens_lies() -> None:
    found = results(toric_case(left_deg=93.0, days_after=10))
    assert found.eyes == 0
    assert turns(found, TurnFrom.PLAN_TO_END) == pytest.approx((3.0,))


def test_moving_a_refraction_agrees_with_the_one_that_turning_uses() -> None:
    glasses = Refraction(1.0, -2.25, 65.0, vertex_mm=12.0)
    found = results(refracted_case(refraction=glasses)).residual
    assert found is not None
    other = at_cornea(sphero_cylinder(1.0, -2.25, 65.0, Plane.SPECTACLES), 12.0).correcting
    assert points(found.vectors)[0] == pytest.approx((float(other.x_dpt), float(other.y_dpt)))
