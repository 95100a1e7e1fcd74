"""The double-angle plot shows every eye where its vector lies, and says in words what it draws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawings.drawn import area, number, part, parts, points, said, text_of
from zonule.drawings.double_angle import double_angle_drawing
from zonule.drawings.svg import Drawing
from zonule.science.astigmatism.aggregate import centroid_ellipse, data_ellipse
from zonule.science.astigmatism.outline import polygon_of_most
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep

TEN = Astigmatism(
    np.array([-0.30, 0.20, 0.45, -0.10, 0.05, 0.30, -0.20, 0.15, 0.40, -0.05]),
    np.array([0.10, -0.05, 0.20, -0.25, 0.35, -0.15, 0.05, 0.10, -0.30, 0.00]),
    Plane.CORNEA,
)


def eye_at(meridian: float, size: float = 1.0) -> tuple[Drawing, float, float]:
    """Where one eye is drawn, from the middle of the rings, in dioptres to the right and up."""
    drawing = double_angle_drawing(steep(size, meridian, Plane.CORNEA))
    ring, eye = parts(drawing, "ring")[1], part(drawing, "eye")
    per_dpt = number(ring, "r")
    right = (number(eye, "cx") - number(ring, "cx")) / per_dpt
    return drawing, right, (number(ring, "cy") - number(eye, "cy")) / per_dpt


@pytest.mark.parametrize(
    ("meridian", "right", "up"), [(180.0, 1.0, 0.0), (45.0, 0.0, 1.0), (90.0, -1.0, 0.0), (135.0, 0.0, -1.0)]
)
def test_an_eye_lies_beside_the_label_of_its_meridian(meridian: float, right: float, up: float) -> None:
    drawing, found_right, found_up = eye_at(meridian)
    assert (found_right, found_up) == pytest.approx((right, up), abs=1e-4)
    ring = parts(drawing, "ring")[1]
    label = text_of(drawing, f"{meridian:.0f}\u00b0")
    assert label.get("class") == "meridian"
    across = number(label, "x") - number(ring, "cx")
    above = number(ring, "cy") - number(label, "y")
    assert across * right + above * up > number(ring, "r")


def test_with_the_rule_is_on_the_left_and_against_it_on_the_right() -> None:
    drawing = double_angle_drawing(TEN)
    assert number(text_of(drawing, "with"), "x") < number(part(drawing, "centroid"), "x1")
    assert number(text_of(drawing, "against"), "x") > number(part(drawing, "centroid"), "x2")


def test_rings_stand_at_half_a_dioptre_one_and_one_and_a_half() -> None:
    drawing = double_angle_drawing(TEN)
    radii = [number(one, "r") for one in parts(drawing, "ring")]
    assert radii[1:] == pytest.approx([2 * radii[0], 3 * radii[0]], abs=0.01)
    assert [one.text for one in parts(drawing, "ring-label")] == ["0.5 D", "1.0 D", "1.5 D"]


@settings(deadline=None)
@given(
    vectors=st.lists(st.tuples(st.floats(0.0, 12.0), st.floats(0.0, 180.0)), min_size=1, max_size=30),
    width=st.sampled_from([340, 560]),
)
def test_no_eye_lies_outside_the_outermost_ring_and_rings_are_few(
    vectors: list[tuple[float, float]], width: int
) -> None:
    sizes, meridians = np.array(vectors).T
    drawing = double_angle_drawing(steep(sizes, meridians, Plane.CORNEA), width=width)
    rings = parts(drawing, "ring")
    outermost = rings[-1]
    assert len(parts(drawing, "eye")) == len(vectors)
    for eye in parts(drawing, "eye"):
        across = number(eye, "cx") - number(outermost, "cx")
        down = number(eye, "cy") - number(outermost, "cy")
        assert np.hypot(across, down) <= number(outermost, "r") + 0.01
    assert 3 <= len(rings) <= 6
    size = float((parts(drawing, "ring-label")[-1].text or "").removesuffix(" D"))
    assert size >= sizes.max() - 0.051


def test_both_ellipses_have_the_area_that_their_half_axes_give() -> None:
    drawing = double_angle_drawing(TEN)
    per_dpt = number(parts(drawing, "ring")[1], "r")
    for class_, ellipse in (("data-ellipse", data_ellipse(TEN)), ("centroid-ellipse", centroid_ellipse(TEN))):
        wanted = np.pi * ellipse.semi_major_dpt * ellipse.semi_minor_dpt
        assert area(part(drawing, class_)) / per_dpt**2 == pytest.approx(wanted, rel=0.002)


def test_both_ellipses_are_drawn_about_the_cross_of_the_centroid() -> None:
    drawing = double_angle_drawing(TEN)
    cross = part(drawing, "centroid")
    middle = (number(cross, "x1") + number(cross, "x2")) / 2, number(cross, "y1")
    for class_ in ("data-ellipse", "centroid-ellipse"):
        corners = np.array(points(part(drawing, class_)))
        assert corners.mean(axis=0) == pytest.approx(middle, abs=0.01)


def test_all_that_is_drawn_is_named_in_words_with_its_size() -> None:
    drawing = double_angle_drawing(TEN)
    for words in (
        "10 eyes, at the cornea. Mean magnitude 0.29 D: not the centroid.",
        "Cross: centroid, the mean vector, 0.09 D at 2\u00b0.",
        "Small ellipse: the true centroid lies here, with 95 % confidence; half axes 0.26 and 0.19 D.",
        "Large ellipse: 95 of 100 further eyes lie here, if vectors are normal; half axes 0.86 and 0.65 D.",
    ):
        assert words in drawing.description
        assert words in said(drawing).replace("\n", " ")


def test_the_outline_is_drawn_through_its_corners_and_says_how_many_it_holds() -> None:
    drawing = double_angle_drawing(TEN, outline=polygon_of_most(TEN))
    drawn = set(points(part(drawing, "outline")))
    eyes = {(number(one, "cx"), number(one, "cy")) for one in parts(drawing, "eye")}
    assert len(drawn) >= 3
    assert drawn <= eyes
    assert "Thin outline with corners: all of these eyes lie in it" in drawing.description
    many = steep(np.linspace(0.1, 1.2, 40), np.linspace(3.0, 177.0, 40), Plane.CORNEA)
    assert "95 of 100 of these eyes" in double_angle_drawing(many, outline=polygon_of_most(many)).description
    assert not parts(double_angle_drawing(TEN), "outline")


def test_two_eyes_or_eyes_on_one_line_have_no_ellipse_and_it_says_so() -> None:
    line = steep(np.array([0.5, 1.0, 1.5, 2.0]), np.full(4, 60.0), Plane.CORNEA)
    for eyes in (steep(np.ones(2), np.array([20.0, 70.0]), Plane.CORNEA), line):
        drawing = double_angle_drawing(eyes)
        assert not parts(drawing, "data-ellipse")
        assert not parts(drawing, "centroid-ellipse")
        assert "No ellipses: they need three or more eyes" in drawing.description


def test_no_eyes_is_said_in_words() -> None:
    assert said(double_angle_drawing(steep(np.empty(0), np.empty(0), Plane.CORNEA))) == "No eyes yet."
