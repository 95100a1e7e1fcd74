"""Who is to be seen for the axis of a toric lens, and by when."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fakes.examples import (
    LISTED_ON,
    ordinary_axis_visit,
    ordinary_case,
    ordinary_intent,
    ordinary_operation,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.case.axis_looks import Slip
from zonule.case.case import Case
from zonule.case.follow_up import FollowUp, Need, Window, follow_up

PLANNED_DEG = 95.0


def day(days: int) -> date:
    return LISTED_ON + timedelta(days=days)


def toric_case(left_deg: float | None = PLANNED_DEG, *seen: tuple[int, float], **changes: Any) -> Case:
    """An eye operated with a toric lens planned at 95 degrees, and looked at on these days."""
    signed = ordinary_signed_plan(
        intent=ordinary_intent(lens_cylinder_dpt=1.5, lens_meridian_deg=PLANNED_DEG)
    )
    visits = (ordinary_axis_visit(seen_on=day(days), lens_meridian_deg=deg) for days, deg in seen)
    done = ordinary_operation(
        signed.digest, operated_on=LISTED_ON, lens_cylinder_dpt=1.5, lens_meridian_deg=left_deg
    )
    kept: dict[str, Any] = {"signed": signed, "operation": done, "axis_visits": tuple(visits)}
    return ordinary_case(**kept | changes)


def needed(case: Case, days: int) -> FollowUp:
    found = follow_up(case, day(days))
    assert found is not None
    return found


@pytest.mark.parametrize("left_deg", [None, PLANNED_DEG, 104.0])
def test_an_eye_nobody_has_looked_at_since_the_operation_has_to_be_looked_at(left_deg: float | None) -> None:
    found = needed(toric_case(left_deg), 3)
    assert (found.need, found.turn_deg) == (Need.LOOK, None)


@pytest.mark.parametrize(
    ("days", "look", "turning"),
    [
        (0, Window.TO_COME, Window.TO_COME),
        (1, Window.OPEN, Window.TO_COME),
        (7, Window.OPEN, Window.OPEN),
        (8, Window.PAST, Window.OPEN),
        (21, Window.PAST, Window.OPEN),
        (22, Window.PAST, Window.PAST),
    ],
)
def test_the_days_count_from_the_operation(days: int, look: Window, turning: Window) -> None:
    found = needed(toric_case(), days)
    assert (found.look_window, found.turning_window) == (look, turning)


@pytest.mark.parametrize("meridian_deg", [85.0, 95.0, 105.0])
def test_a_look_that_finds_the_lens_within_10_degrees_settles_it(meridian_deg: float) -> None:
    assert follow_up(toric_case(PLANNED_DEG, (1, meridian_deg)), day(2)) is None


@pytest.mark.parametrize(("meridian_deg", "turn_deg"), [(84.0, -11.0), (106.0, 11.0), (174.0, 79.0)])
def test_a_look_that_finds_it_farther_off_keeps_it_on_the_list(meridian_deg: float, turn_deg: float) -> None:
    found = needed(toric_case(PLANNED_DEG, (1, meridian_deg)), 2)
    assert (found.need, found.turn_deg) == (Need.TURN, turn_deg)


def test_a_lens_left_far_off_is_on_the_list_from_the_day_itself() -> None:
    assert needed(toric_case(110.0), 0).need is Need.TURN


def test_the_latest_look_counts() -> None:
    assert follow_up(toric_case(110.0, (1, 112.0), (9, 97.0)), day(10)) is None
    assert needed(toric_case(PLANNED_DEG, (1, 97.0), (9, 112.0)), 10).need is Need.TURN


def test_a_look_that_is_more_likely_a_slip_says_so() -> None:
    assert needed(toric_case(PLANNED_DEG, (1, 5.0)), 2).slip is Slip.FLIPPED
    assert needed(toric_case(PLANNED_DEG, (1, 112.0)), 2).slip is None


def test_a_lens_that_can_have_turned_so_far_is_not_put_down_to_a_slip() -> None:
    assert needed(toric_case(PLANNED_DEG, (1, 84.0)), 2).slip is None


def test_the_marks_read_with_a_refraction_count_as_a_look() -> None:
    early = ordinary_review(refracted_on=day(14), days_after=14)
    assert needed(toric_case(review=early), 15).need is Need.LOOK
    seen = ordinary_review(refracted_on=day(14), days_after=14, lens_meridian_deg=96.0)
    assert follow_up(toric_case(review=seen), day(15)) is None


def test_a_settled_refraction_takes_an_eye_off_the_list() -> None:
    assert follow_up(toric_case(PLANNED_DEG, (1, 112.0), review=ordinary_review()), day(36)) is None


def test_an_eye_is_chased_for_90_days() -> None:
    assert follow_up(toric_case(), day(90)) is not None
    assert follow_up(toric_case(), day(91)) is None


def test_an_eye_without_a_toric_lens_or_without_an_operation_is_not_on_the_list() -> None:
    for operation in (None, ordinary_operation(), ordinary_operation(lens_cylinder_dpt=0.0)):
        assert follow_up(toric_case(operation=operation), day(3)) is None


def test_without_a_planned_meridian_one_look_is_enough() -> None:
    signed = ordinary_signed_plan()
    assert needed(toric_case(PLANNED_DEG, signed=signed), 3).need is Need.LOOK
    assert follow_up(toric_case(PLANNED_DEG, (1, 5.0), signed=signed), day(3)) is None


@given(one=st.integers(0, 90), other=st.integers(0, 90))
def test_what_closes_first_comes_first_and_what_closed_comes_last(one: int, other: int) -> None:
    today = day(90)
    gone = sorted((one, other))
    late, early = (follow_up(_operated(90 - days), today) for days in gone)
    assert late is not None
    assert early is not None
    both_open = gone[1] <= 21
    if gone[0] == gone[1]:
        assert late.urgency == early.urgency
    elif both_open:
        assert early.urgency < late.urgency
    else:
        assert late.urgency < early.urgency


def _operated(days: int) -> Case:
    case = toric_case(None)
    assert case.signed is not None
    return toric_case(
        operation=ordinary_operation(case.signed.digest, operated_on=day(days), lens_cylinder_dpt=1.5)
    )


def test_of_two_that_close_together_the_lens_known_to_be_off_comes_first() -> None:
    known, unknown = needed(toric_case(110.0), 9), needed(toric_case(), 9)
    assert known.urgency < unknown.urgency
