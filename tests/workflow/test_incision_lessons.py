"""What own incisions teach: means of vectors, left eyes mirrored, shrunk by evidence, then accepted."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.acts import ordinary_act
from fakes.examples import SURGEON, ordinary_eye, ordinary_history, ordinary_incision_lesson
from fakes.memory_record import MemoryRecord
from fakes.refracted import cornea, refracted_case
from workflow.clinic import INTENT, KEY, TODAY, clinic
from zonule.case.astigmatism_results import IncisionGroup, IncisionResults
from zonule.case.biometry import CorneaKind
from zonule.case.case import Case
from zonule.case.eye import CornealSurgery
from zonule.case.incision import IncisionLesson, Place
from zonule.case.operation import Complication
from zonule.case.patient import Side
from zonule.errors import InputError
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep
from zonule.workflow.forecast import plan_eye
from zonule.workflow.incision_lessons import accept_incision_lesson, incisions_from, look_back_at_incisions
from zonule.workflow.plan import request_for

NOW = datetime(2026, 11, 10, 9, 0, tzinfo=UTC)
KINDS: dict[str, Any] = {"surgeon": SURGEON, "incision_width_mm": 2.2}


def cut(
    number: int,
    flattening_dpt: float = 0.5,
    *,
    torque_dpt: float = 0.0,
    meridian_deg: float = 180.0,
    side: Side = Side.RIGHT,
    **changes: Any,
) -> Case:
    """An eye whose cornea of 1.00 D at 90 was changed by an incision, as a right eye tells it."""
    before = steep(1.0, 90.0, Plane.CORNEA)
    change = Astigmatism(flattening_dpt, torque_dpt, Plane.CORNEA).turned(meridian_deg + 90.0)
    after = before.plus(change)
    if side is Side.LEFT:
        after, meridian_deg = after.mirrored(), (180.0 - meridian_deg) % 360.0
    seen = cornea(float(after.magnitude_dpt), float(after.steep_meridian_deg))
    made: dict[str, Any] = {"keratometry": seen, "incision_meridian_deg": meridian_deg} | KINDS
    return refracted_case(number, side=side, **made | changes)


def look(cases: list[Case], *lessons: IncisionLesson) -> IncisionResults:
    return incisions_from(cases, lessons, TODAY)


def only_group(found: IncisionResults) -> IncisionGroup:
    (group,) = found.groups
    return group


def lesson_of(cases: list[Case]) -> IncisionLesson:
    lesson = only_group(look(cases)).proposed
    assert lesson is not None
    return lesson


def test_twenty_eyes_move_the_published_effect_as_far_as_their_evidence_goes() -> None:
    lesson = lesson_of([cut(number) for number in range(20)])
    # By hand: scatter 0.33 D and doubt 0.10 D make the published effect worth 10.89 eyes.
    weight = 20 / (20 + 0.33**2 / 0.10**2)
    assert lesson.weight == pytest.approx(weight)
    assert lesson.own_flattening_dpt == pytest.approx(0.5)
    assert lesson.flattening_dpt == pytest.approx(0.15 + weight * (0.5 - 0.15))
    assert lesson.torque_dpt == pytest.approx(0.0, abs=1e-9)
    assert lesson.centroid_sd_dpt == pytest.approx(0.10 * np.sqrt(1 - weight))
    # Own eyes without scatter pull the published variance down by their share against 100 eyes.
    assert lesson.scatter_dpt2 == pytest.approx((0.33**2 * 100 / 119, 0.0, 0.33**2 * 100 / 119))
    assert (lesson.place, lesson.width_mm, lesson.eyes) == (Place.TEMPORAL, 2.2, 20)


def test_eyes_that_were_turned_either_way_teach_no_flattening_whatever_their_sizes() -> None:
    cases = [cut(number, 0.6 if number % 2 else -0.6) for number in range(20)]
    group = only_group(look(cases))
    assert group.changes.found.mean_magnitude_dpt == pytest.approx(0.6)
    assert group.proposed is not None
    assert group.proposed.own_flattening_dpt == pytest.approx(0.0, abs=1e-9)
    assert group.proposed.flattening_dpt < 0.15


@settings(deadline=None, max_examples=30)
@given(flattening=st.floats(-0.5, 0.8), torque=st.floats(-0.5, 0.5), meridian=st.floats(155.0, 205.0))
def test_a_left_eye_teaches_what_its_mirror_teaches(
    flattening: float, torque: float, meridian: float
) -> None:
    how: dict[str, Any] = {"torque_dpt": torque, "meridian_deg": meridian}
    rights = [cut(number, flattening, **how) for number in range(6)]
    lefts = [cut(number, flattening, side=Side.LEFT, **how) for number in range(6)]
    right, left = lesson_of(rights), lesson_of(lefts)
    assert left.place is right.place is Place.TEMPORAL
    assert (left.flattening_dpt, left.torque_dpt) == pytest.approx(
        (right.flattening_dpt, right.torque_dpt), abs=1e-9
    )
    assert left.own_flattening_dpt == pytest.approx(flattening, abs=1e-9)
    assert left.torque_dpt == pytest.approx(right.weight * torque, abs=1e-9)


def test_two_eyes_of_a_patient_weigh_less_than_eyes_of_two() -> None:
    apart = lesson_of([cut(number) for number in range(20)])
    together = lesson_of([cut(number, side=side) for number in range(10) for side in Side])
    assert together.eyes == apart.eyes
    # Ten pairs with a correlation of 0.5 are worth 10 x 2 / 1.5 eyes.
    worth = 20 / 1.5
    assert together.weight == pytest.approx(worth / (worth + 10.89))
    assert together.weight < apart.weight


def test_surgeons_places_and_widths_are_learned_apart() -> None:
    cases = [
        *(cut(number) for number in range(2)),
        *(cut(number, meridian_deg=90.0) for number in range(2, 4)),
        *(cut(number, incision_width_mm=2.43) for number in range(4, 6)),
        *(cut(number, surgeon="Another") for number in range(6, 8)),
    ]
    found = [(one.surgeon, one.place, one.width_mm, one.changes.found.eyes) for one in look(cases).groups]
    assert sorted(found) == [
        ("Another", Place.TEMPORAL, 2.2, 2),
        (SURGEON, Place.SUPERIOR, 2.2, 2),
        (SURGEON, Place.TEMPORAL, 2.2, 2),
        (SURGEON, Place.TEMPORAL, 2.4, 2),
    ]
    superior = next(one for one in look(cases).groups if one.place is Place.SUPERIOR)
    assert superior.published_flattening_dpt == pytest.approx(0.28)


def test_one_eye_proposes_nothing() -> None:
    group = only_group(look([cut(0)]))
    assert group.proposed is None
    assert not group.has_news


def test_eyes_that_say_nothing_of_their_incision_are_counted_with_their_reasons() -> None:
    touched = replace(ordinary_eye(), history=ordinary_history(corneal_surgery=CornealSurgery.MYOPIC_LASER))
    found = look(
        [
            cut(0),
            refracted_case(1, **KINDS),
            cut(2, keratometry=cornea(1.0, 90.0, kind=CorneaKind.TOTAL)),
            cut(3, before=cornea(1.0, None)),
            cut(4, eye=touched),
            cut(5, complication=Complication.ZONULE_LOSS),
            cut(6, days_after=14),
            cut(7, incision_width_mm=None),
            cut(8, incision_width_mm=2.8),
        ]
    )
    assert only_group(found).changes.found.eyes == 1
    assert {one.reason: one.eyes for one in found.excluded} == {
        "cornea not measured after the operation": 1,
        "cornea given as total; incisions are learned from front readings": 1,
        "steep meridian or a power missing": 1,
        "corneal surgery: myopic laser": 1,
        "complication": 1,
        "measured before 28 days": 1,
        "place or width of the incision not recorded": 1,
        "incision not 2 to 2.4 mm wide, so no published effect to start from": 1,
    }


# --- accepting --------------------------------------------------------------------------------------------


def record_of(cases: list[Case]) -> MemoryRecord:
    """A clinic with an eye to plan, and these reviewed."""
    record = clinic(intent=replace(INTENT, incision_meridian_deg=180.0, incision_width_mm=2.2))
    with ordinary_act(record) as act:
        for case in cases:
            assert case.signed is not None
            assert case.operation is not None
            assert case.review is not None
            act.put_patient(case.patient)
            act.put_eye(case.patient.key, case.eye)
            act.put_case(case.key, case.patient.key, case.side, None)
            act.add_signed_plan(case.key, case.signed)
            act.add_operation(case.key, case.operation)
            act.add_review(case.key, case.review)
    return record


def test_the_next_plan_uses_a_lesson_once_a_person_has_accepted_it() -> None:
    record = record_of([cut(number) for number in range(100, 120)])
    group = only_group(look_back_at_incisions(record, TODAY))
    assert group.proposed is not None
    assert group.has_news
    assert request_for(record.case(KEY), record).incision_lesson is None
    kept = accept_incision_lesson(record, group.proposed.key, SURGEON, NOW)
    assert record.incision_lessons() == (kept,)
    assert (record.trail()[0].verb, record.trail()[0].who) == ("accept lesson", SURGEON)
    assert not only_group(look_back_at_incisions(record, TODAY)).has_news
    plan = plan_eye(request_for(record.case(KEY), record), TODAY)
    assert plan.toric is not None
    assert plan.toric.incision is not None
    assert plan.toric.incision.flattening_dpt == pytest.approx(kept.flattening_dpt)
    assert plan.toric.incision.origin == "learned from 20 own eyes"


def test_more_eyes_are_news_and_the_same_eyes_are_not() -> None:
    cases = [cut(number) for number in range(20)]
    lesson = lesson_of(cases)
    assert not only_group(look(cases, lesson)).has_news
    assert only_group(look([*cases, cut(21, 0.1)], lesson)).has_news
    other = ordinary_incision_lesson(place=Place.NASAL)
    assert only_group(look(cases, other)).current is None


def test_a_kind_of_incision_without_eyes_cannot_be_accepted() -> None:
    record = record_of([cut(100)])
    with pytest.raises(InputError, match="too few corneas"):
        accept_incision_lesson(record, f"{SURGEON}: temporal, 2.2 mm", SURGEON, NOW)
    assert record.incision_lessons() == ()
