"""Where the marks lie beside the plan, and which slip a wrong meridian looks like."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fakes.examples import (
    ordinary_axis_visit,
    ordinary_case,
    ordinary_intent,
    ordinary_operation,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.case.axis_looks import (
    ON_PLAN_DEG,
    Occasion,
    Slip,
    is_toric,
    looks_of,
    off_plan_words,
    planned_meridian_deg,
    slip_of,
    turn_between_deg,
    turn_words,
)

MERIDIANS = st.integers(1, 180).map(float)
NEAR = st.integers(-5, 5).map(float)


@given(planned_deg=MERIDIANS, off_deg=NEAR)
def test_a_lens_on_its_plan_is_never_called_a_slip(planned_deg: float, off_deg: float) -> None:
    assert slip_of(planned_deg + off_deg, planned_deg) is None


@given(planned_deg=MERIDIANS, off_deg=NEAR)
def test_a_meridian_a_quarter_turn_away_is_a_flip(planned_deg: float, off_deg: float) -> None:
    assert slip_of((planned_deg + 90.0 + off_deg) % 180.0, planned_deg) is Slip.FLIPPED


@given(planned_deg=MERIDIANS, off_deg=NEAR)
def test_180_minus_the_meridian_is_a_mirror_unless_that_is_the_plan_or_across_it(
    planned_deg: float, off_deg: float
) -> None:
    seen_deg = 180.0 - planned_deg + off_deg
    off_plan_deg = abs(turn_between_deg(planned_deg, seen_deg))
    assume(ON_PLAN_DEG < off_plan_deg < 90.0 - ON_PLAN_DEG)
    assert slip_of(seen_deg, planned_deg) is Slip.MIRRORED


@given(planned_deg=MERIDIANS, seen_deg=MERIDIANS)
def test_a_slip_looks_the_same_from_the_other_end_of_the_meridian(
    planned_deg: float, seen_deg: float
) -> None:
    assert slip_of(seen_deg + 180.0, planned_deg) is slip_of(seen_deg, planned_deg - 180.0)
    assert slip_of(seen_deg, planned_deg) is slip_of(seen_deg + 180.0, planned_deg)


@given(planned_deg=MERIDIANS, seen_deg=MERIDIANS)
def test_what_is_near_no_slip_is_none(planned_deg: float, seen_deg: float) -> None:
    near = any(
        abs(turn_between_deg(seen_deg, other_deg)) <= ON_PLAN_DEG
        for other_deg in (planned_deg + 90.0, -planned_deg)
    )
    assume(not near)
    assert slip_of(seen_deg, planned_deg) is None


def test_an_upright_or_level_plan_has_no_mirror_to_be_taken_for() -> None:
    found = {slip_of(float(seen_deg), 90.0) for seen_deg in range(1, 181)}
    assert found == {None, Slip.FLIPPED}


@pytest.mark.parametrize(
    ("turn_deg", "words"),
    [
        (4.0, "4 degrees counter-clockwise of the plan"),
        (-4.0, "4 degrees clockwise of the plan"),
        (1.0, "1 degree counter-clockwise of the plan"),
        (0.5, "0.5 degrees counter-clockwise of the plan"),
        (0.04, "on the plan"),
        (90.0, "90 degrees from the plan"),
    ],
)
def test_a_turn_is_told_in_words(turn_deg: float, words: str) -> None:
    assert off_plan_words(turn_deg) == words


@given(turn_deg=st.integers(1, 89).map(float))
def test_the_way_of_a_turn_is_told_by_its_sign(turn_deg: float) -> None:
    assert turn_words(turn_deg) == turn_words(-turn_deg).replace("clockwise", "counter-clockwise")


def test_every_look_is_told_earliest_first() -> None:
    case = ordinary_case(
        operation=ordinary_operation(lens_meridian_deg=95.0),
        axis_visits=(ordinary_axis_visit(seen_on=date(2026, 11, 16)), ordinary_axis_visit()),
        review=ordinary_review(lens_meridian_deg=99.0),
    )
    assert [look.occasion for look in looks_of(case)] == [
        Occasion.OPERATION,
        Occasion.VISIT,
        Occasion.VISIT,
        Occasion.REFRACTION,
    ]


def test_what_nobody_wrote_down_is_no_look() -> None:
    assert looks_of(ordinary_case(operation=ordinary_operation(), review=ordinary_review())) == ()
    assert looks_of(ordinary_case()) == ()


def test_the_plan_compared_with_is_the_one_carried_out() -> None:
    intent = ordinary_intent(lens_cylinder_dpt=1.5, lens_meridian_deg=95.0)
    signed = ordinary_signed_plan(intent=intent)
    case = ordinary_case(signed=signed, operation=ordinary_operation(signed.digest))
    assert planned_meridian_deg(case) == 95.0
    assert planned_meridian_deg(replace(case, operation=ordinary_operation("b" * 64))) is None
    assert planned_meridian_deg(replace(case, operation=None)) is None
    without = replace(signed, intent=replace(intent, lens_cylinder_dpt=0.0))
    assert planned_meridian_deg(replace(case, signed=without)) is None


@pytest.mark.parametrize(("cylinder_dpt", "toric"), [(None, False), (0.0, False), (1.0, True)])
def test_a_lens_is_toric_by_its_cylinder(cylinder_dpt: float | None, *, toric: bool) -> None:
    assert is_toric(ordinary_operation(lens_cylinder_dpt=cylinder_dpt)) is toric
