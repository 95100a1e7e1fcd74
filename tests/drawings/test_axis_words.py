"""The words for an axis against coordinates turned by hand: nothing of the words' own rule is used here."""

from __future__ import annotations

import re
from math import atan2, cos, degrees, hypot, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawings.drawn import number, parts
from fakes.examples import ordinary_case, ordinary_intent
from zonule.case.patient import Side
from zonule.case.plan import Seat
from zonule.drawings.axis_words import axis_words
from zonule.drawings.eye_face import eye_face

Point = tuple[float, float]

UPRIGHT: Point = (0.0, 1.0)
LEVEL: Point = (1.0, 0.0)
FACING = {
    Side.RIGHT: {"nasal": (1, 0), "temporal": (-1, 0), "superior": (0, 1), "inferior": (0, -1)},
    Side.LEFT: {"nasal": (-1, 0), "temporal": (1, 0), "superior": (0, 1), "inferior": (0, -1)},
}
"""The parts of the eye as one who faces the patient sees them, y upward."""
BELOW = {Seat.SUPERIOR: "superior", Seat.TEMPORAL: "temporal"}
"""What lies nearest the surgeon."""

meridians = st.floats(0.0, 180.0)
sides, seats = st.sampled_from(list(Side)), st.sampled_from([None, *Seat])


def _turned(point: Point, side: Side, seat: Seat | None) -> Point:
    """The point as the seat shows it: turned so that the surgeon's part of the eye lies straight below."""
    if seat is None:
        return point
    near_x, near_y = FACING[side][BELOW[seat]]
    # A turn takes (near_x, near_y) to (0, -1): multiply by -i over the complex number of that part.
    turn = -1j / complex(near_x, near_y)
    moved = complex(*point) * turn
    return moved.real, moved.imag


def _line_told(said: str) -> Point:
    """A point on the line that the words describe, in the picture."""
    if "stands upright" in said:
        return UPRIGHT
    if "lies level" in said:
        return LEVEL
    found = re.search(r"(\d+)\u00b0 (counter-clockwise|clockwise) from (upright|level)", said)
    assert found is not None, said
    angle = radians(int(found[1]) * (1 if found[2].startswith("counter") else -1))
    x, y = UPRIGHT if found[3] == "upright" else LEVEL
    return x * cos(angle) - y * sin(angle), x * sin(angle) + y * cos(angle)


def _ends_told(said: str, side: Side) -> list[Point]:
    """Both ends by the parts of the eye, facing the patient."""
    found = re.search(r"One end lies (.+), the other (.+)\.$", said)
    assert found is not None, said
    ends: list[Point] = []
    for words in found.groups():
        part = re.fullmatch(r"(\d+)\u00b0 from (\w+) toward (\w+)", words)
        if part is None:
            ends.append(FACING[side][words])
            continue
        angle = radians(int(part[1]))
        near, far = FACING[side][part[2]], FACING[side][part[3]]
        x, y = (cos(angle) * a + sin(angle) * b for a, b in zip(near, far, strict=True))
        ends.append((x, y))
    return ends


def _apart_deg(one: Point, other: Point) -> float:
    """The angle between the two lines through the middle."""
    turn = degrees(atan2(one[1], one[0]) - atan2(other[1], other[0])) % 180
    return min(turn, 180 - turn)


def _marks_drawn(meridian_deg: float, side: Side, seat: Seat | None) -> Point:
    intent = ordinary_intent(lens_cylinder_dpt=1.5, lens_meridian_deg=meridian_deg)
    mark = parts(eye_face(ordinary_case(side, intent=intent), seat=seat), "lens-mark")[0]
    return number(mark, "cx"), -number(mark, "cy")


@given(meridian_deg=meridians, side=sides, seat=seats)
def test_the_line_that_is_told_lies_where_coordinates_turned_by_hand_put_it(
    meridian_deg: float, side: Side, seat: Seat | None
) -> None:
    marks = cos(radians(meridian_deg)), sin(radians(meridian_deg))
    told = _line_told(axis_words(meridian_deg, side, seat))
    assert _apart_deg(told, _turned(marks, side, seat)) <= 0.51


@given(meridian_deg=meridians, side=sides, seat=seats)
def test_the_ends_that_are_told_lie_on_the_meridian_opposite_each_other(
    meridian_deg: float, side: Side, seat: Seat | None
) -> None:
    one, other = _ends_told(axis_words(meridian_deg, side, seat), side)
    marks = cos(radians(meridian_deg)), sin(radians(meridian_deg))
    assert _apart_deg(one, marks) <= 0.51
    assert hypot(one[0] + other[0], one[1] + other[1]) < 1e-9


@given(meridian_deg=st.integers(1, 180), side=sides, seat=seats)
def test_words_and_drawing_agree(meridian_deg: int, side: Side, seat: Seat | None) -> None:
    said = axis_words(float(meridian_deg), side, seat)
    drawn = _marks_drawn(float(meridian_deg), side, seat)
    assert _apart_deg(_line_told(said), drawn) < 0.05
    assert _apart_deg(_turned(_ends_told(said, side)[0], side, seat), drawn) < 0.05


@given(meridian_deg=meridians, side=sides, seat=seats)
def test_the_end_that_is_called_top_or_up_is_the_one_away_from_the_surgeon(
    meridian_deg: float, side: Side, seat: Seat | None
) -> None:
    said = axis_words(meridian_deg, side, seat)
    x, y = _line_told(said)
    if "its top" in said:
        assert ("its top to the left" in said) == (x * y < 0)
    if "end up" in said:
        assert ("its left end up" in said) == (x * y < 0)


@given(meridian_deg=meridians, side=sides, seat=seats)
def test_no_angle_is_told_from_the_farther_of_upright_and_level(
    meridian_deg: float, side: Side, seat: Seat | None
) -> None:
    angles = [
        int(one)
        for one in re.findall(r"(\d+)\u00b0 (?:counter|clock|from)", _after(meridian_deg, side, seat))
    ]
    assert all(0 < one <= 45 for one in angles)


def _after(meridian_deg: float, side: Side, seat: Seat | None) -> str:
    return axis_words(meridian_deg, side, seat).split(". ", 1)[1]


@given(meridian_deg=meridians, seat=seats)
def test_the_left_eye_is_the_mirror_image_of_the_right_one(meridian_deg: float, seat: Seat | None) -> None:
    whole = round(meridian_deg)
    right, left = axis_words(whole, Side.RIGHT, seat), axis_words(180 - whole, Side.LEFT, seat)
    assert sorted(_ends_in_words(right)) == sorted(_ends_in_words(left))


def _ends_in_words(said: str) -> list[str]:
    found = re.search(r"One end lies (.+), the other (.+)\.$", said)
    assert found is not None
    return list(found.groups())


@given(side=sides, seat=seats)
def test_0_and_180_are_one_meridian(side: Side, seat: Seat | None) -> None:
    assert axis_words(0.0, side, seat) == axis_words(180.0, side, seat)
    assert axis_words(180.4, side, seat) == axis_words(180.0, side, seat)


UPRIGHT_LEAN = "the line leans 14\u00b0 counter-clockwise from upright, its top to the left"
LEVEL_TURN = "the line is turned 14\u00b0 counter-clockwise from level, its right end up"


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize(
    ("seat", "words"),
    [
        (None, f"Seen facing the patient {UPRIGHT_LEAN}."),
        (Seat.SUPERIOR, f"Seen from the head {UPRIGHT_LEAN}."),
        (Seat.TEMPORAL, f"Seen from the temple {LEVEL_TURN}."),
    ],
)
def test_marks_at_104_degrees_from_each_seat(side: Side, seat: Seat | None, words: str) -> None:
    assert words in axis_words(104.0, side, seat)


def test_the_same_meridian_leans_to_the_temple_in_one_eye_and_to_the_nose_in_the_other() -> None:
    right, left = (axis_words(104.0, side, None) for side in Side)
    assert right.endswith(
        "One end lies 14\u00b0 from superior toward temporal, the other 14\u00b0 from inferior toward nasal."
    )
    assert left.endswith(
        "One end lies 14\u00b0 from superior toward nasal, the other 14\u00b0 from inferior toward temporal."
    )
