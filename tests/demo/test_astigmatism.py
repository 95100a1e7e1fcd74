"""Astigmatism of the invented year: enough of it to learn from, and no model right by construction."""

import math
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest

from fakes.memory_record import MemoryRecord
from zonule.case.axis_looks import is_toric
from zonule.case.case import Case
from zonule.case.operation import Fixation
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.toric import CorneaModelName
from zonule.demo.astigmatism import FLATTENING_DPT, INCISION_WIDTH_MM, TORQUE_DPT, drawn_astigmatism
from zonule.demo.clinic import DemoCase, demo_clinic
from zonule.demo.fill import fill
from zonule.demo.lenses import HAREBELL, HAREBELL_TORIC
from zonule.demo.population import TrueEye, plausible_pairs
from zonule.demo.truth import Surprise, Truth, usual_cornea
from zonule.science.astigmatism.corneal import ADJUSTMENTS
from zonule.science.astigmatism.vectors import Astigmatism, Plane, at_cornea, sphero_cylinder, steep
from zonule.workflow.astigmatism_results import results_from
from zonule.workflow.incision_lessons import incisions_from
from zonule.workflow.plan import signed_plan_doubts

TODAY = date(2026, 11, 2)
NO_SURPRISE = Surprise(0.0, 0.0, 0.0, (0.0, 0.0))


@cache
def past() -> tuple[DemoCase, ...]:
    return tuple(case for case in demo_clinic(today=TODAY).cases if case.outcome is not None)


@cache
def true_eyes() -> tuple[TrueEye, ...]:
    return tuple(pair.right for pair in plausible_pairs(np.random.default_rng(8), 1500))


@cache
def lived() -> tuple[Case, ...]:
    """A smaller year, lived through by the workflow."""
    record = MemoryRecord()
    fill(record, today=TODAY, progress=lambda _done, _all: None, eyes=30)
    return record.reviewed_cases()


def test_every_part_of_the_page_has_eyes_to_show() -> None:
    toric = [case for case in past() if case.intent.lens_model == HAREBELL_TORIC.name]
    again = [case for case in past() if case.outcome and case.outcome.astigmatism.keratometry_after]
    assert 40 <= len(toric) <= 60
    assert len(again) >= 80
    assert all(case.outcome and case.outcome.fixation is Fixation.BAG for case in toric)
    twice = [
        case
        for case in toric
        if case.outcome and len(case.outcome.astigmatism.visits(90.0, case.outcome.operated_on, TODAY)) == 2
    ]
    assert len(twice) >= 30


def test_no_look_at_the_marks_lies_in_the_future() -> None:
    for case in past():
        assert case.outcome is not None
        visits = case.outcome.astigmatism.visits(90.0, case.outcome.operated_on, TODAY)
        assert all(case.outcome.operated_on < one.seen_on < TODAY for one in visits)


def test_toric_lenses_go_to_the_eyes_with_more_cylinder() -> None:
    sizes = {True: [], False: []}  # type: dict[bool, list[float]]
    for case in past():
        assert case.outcome is not None
        is_one = case.intent.lens_model == HAREBELL_TORIC.name
        sizes[is_one].append(float(case.outcome.astigmatism.before.magnitude_dpt))
    assert min(sizes[True]) >= 1.25
    assert np.median(sizes[True]) > 2.0 * np.median(sizes[False])


@pytest.mark.parametrize("side", Side)
def test_incisions_really_do_on_average_what_this_surgeon_does(side: Side) -> None:
    rng = np.random.default_rng(5)
    incision_deg = 180.0 if side is Side.RIGHT else 0.0
    induced = [drawn_astigmatism(rng, eye, side, incision_deg, TODAY).induced for eye in true_eyes()]
    own = [one.turned(-(incision_deg + 90.0)) for one in induced]
    noise = 4.0 * 0.2 / math.sqrt(len(own))
    turn = 1.0 if side is Side.RIGHT else -1.0
    assert np.mean([one.x_dpt for one in own]) == pytest.approx(FLATTENING_DPT, abs=noise)
    assert np.mean([one.y_dpt for one in own]) == pytest.approx(turn * TORQUE_DPT, abs=noise)


def correcting(written: Refraction) -> Astigmatism:
    """The plus cylinder of these glasses, at the cornea."""
    axis_deg = written.axis_deg or 180.0
    seen = sphero_cylinder(written.sphere_dpt, written.cylinder_dpt, axis_deg, Plane.SPECTACLES)
    return at_cornea(seen).correcting


def test_a_lens_that_fits_leaves_nothing_and_one_across_doubles_what_was_there() -> None:
    eye = true_eyes()[0]
    plain = Truth(eye, HAREBELL.name, Fixation.BAG, NO_SURPRISE, steep(0.0, 90.0, Plane.CORNEA))
    # What 3 D of lens are worth at this cornea, read off an eye whose cornea has none.
    alone = correcting(plain.refraction_with(20.0, 3.0, 60.0))
    worth = float(alone.magnitude_dpt)
    assert 1.5 < worth < 2.7
    assert float(alone.steep_meridian_deg) == pytest.approx(150.0)
    fits = Truth(eye, HAREBELL.name, Fixation.BAG, NO_SURPRISE, steep(worth, 60.0, Plane.CORNEA))
    assert abs(fits.refraction_with(20.0, 3.0, 60.0).cylinder_dpt) <= 0.25
    across = correcting(fits.refraction_with(20.0, 3.0, 150.0))
    assert float(across.magnitude_dpt) == pytest.approx(2.0 * worth, abs=0.25)


def test_without_a_toric_lens_the_cornea_is_what_the_glasses_correct() -> None:
    eye = true_eyes()[3]
    truth = Truth(eye, HAREBELL.name, Fixation.BAG, NO_SURPRISE)
    off = correcting(truth.refraction_with(20.0)).minus(usual_cornea(eye))
    assert float(off.magnitude_dpt) < 0.4  # quarters of a dioptre and fives of degrees


def test_no_cornea_model_is_right_by_construction() -> None:
    rng = np.random.default_rng(6)
    eyes = true_eyes()
    fronts = Astigmatism(
        np.array([steep(eye.cylinder_dpt, eye.steep_meridian_deg, Plane.CORNEA).x_dpt for eye in eyes]),
        np.array([steep(eye.cylinder_dpt, eye.steep_meridian_deg, Plane.CORNEA).y_dpt for eye in eyes]),
        Plane.CORNEA,
    )
    truth_x = np.array(
        [float(drawn_astigmatism(rng, eye, Side.RIGHT, 180.0, TODAY).before.x_dpt) for eye in eyes]
    )
    for key, row in ADJUSTMENTS.items():
        if row.from_reading is None:
            continue
        off = truth_x - np.asarray(row.from_reading(fronts).x_dpt)
        off = off[np.isfinite(off)]
        assert abs(off.mean()) > 4.0 * off.std() / math.sqrt(len(off)), key


def test_the_year_is_lived_through_the_verbs_that_a_surgeon_uses() -> None:
    toric = [case for case in lived() if is_toric(case.operation)]
    assert len(toric) >= 5
    for case in toric:
        assert case.signed is not None
        assert case.operation is not None
        intent = case.signed.intent
        assert intent.lens_cylinder_dpt == case.operation.lens_cylinder_dpt
        assert intent.lens_cylinder_dpt in HAREBELL_TORIC.cylinders_dpt
        assert intent.lens_meridian_deg is not None
        assert case.operation.lens_meridian_deg is not None
        assert case.operation.incision_width_mm == INCISION_WIDTH_MM
        assert case.axis_visits
        assert case.axis_visits[0].seen_on == case.operation.operated_on + timedelta(days=1)
    assert signed_plan_doubts(toric[0].signed) == () if toric[0].signed else False


def test_what_was_lived_can_be_learned_from() -> None:
    results = results_from(lived(), ())
    assert results.eyes >= 25
    assert {one.key for one in results.models} >= {CorneaModelName.ANTERIOR, CorneaModelName.REGRESSION_2017}
    assert results.change is not None
    (group,) = incisions_from(lived(), (), TODAY).groups
    assert group.proposed is not None
    assert group.changes.found.eyes >= 15
