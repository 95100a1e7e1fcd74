"""Laws of exact rays: they stay on surfaces, obey Snell, run backwards, and turn with the eye."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from properties.optical_rows import CONICS, EYES
from zonule.science.optics import ray_trace_compiled
from zonule.science.optics.matrices import system_matrix
from zonule.science.optics.pseudophakic_eye import PseudophakicEye
from zonule.science.optics.ray_trace import RayFlag, Rays, trace
from zonule.science.optics.surfaces import (
    Surface,
    axis_of,
    curvatures_per_mm,
    lens_tilted,
    mirrored,
    quadric,
)

SAME_MM = 1e-9
HEIGHTS = st.floats(-2.5, 2.5)
SLOPES_DEG = st.floats(-8.0, 8.0)
TILTS_DEG = st.floats(-12.0, 12.0)


def starting(x: float, y: float, towards_x_deg: float = 0.0, towards_y_deg: float = 0.0) -> Rays:
    return Rays(x, y, -2.0, *axis_of(towards_x_deg, towards_y_deg))


def numbers(rays: Rays) -> np.ndarray:
    return np.array([float(np.asarray(field)) for field in rays[:7]])


def biconic_sag_mm(surface: Surface, x: float, y: float) -> float:
    """The sag of the usual biconic, written for itself."""
    cx, cy = 1.0 / surface.radius_mm, 1.0 / (surface.other_radius_mm or surface.radius_mm)
    along = (1.0 + surface.conic) * 0.5 * (cx + cy)
    kx, ky = along / cx - 1.0, along / cy - 1.0
    root = math.sqrt(1.0 - (1.0 + kx) * cx**2 * x**2 - (1.0 + ky) * cy**2 * y**2)
    return float((cx * x**2 + cy * y**2) / (1.0 + root))


@given(x=HEIGHTS, y=HEIGHTS, lean=SLOPES_DEG, conic=CONICS, other=st.floats(6.5, 9.0))
def test_a_ray_meets_a_torus_where_the_usual_biconic_lies_and_is_bent_by_snell(
    x: float, y: float, lean: float, conic: float, other: float
) -> None:
    surface = Surface(0.0, 7.7, 1.376, conic, other_radius_mm=other)
    start = starting(x, y, lean, -0.5 * lean)
    end = trace(start, [surface], 1.0)
    at_x, at_y = float(end.x_mm), float(end.y_mm)
    assert float(end.z_mm) == pytest.approx(biconic_sag_mm(surface, at_x, at_y), abs=SAME_MM)
    step = 1e-5
    normal = np.array(
        [
            (biconic_sag_mm(surface, at_x - step, at_y) - biconic_sag_mm(surface, at_x + step, at_y))
            / (2 * step),
            (biconic_sag_mm(surface, at_x, at_y - step) - biconic_sag_mm(surface, at_x, at_y + step))
            / (2 * step),
            1.0,
        ]
    )
    before, after = np.array(start[3:6], dtype=float), np.array(end[3:6], dtype=float)
    # Snell's law as a vector: what lies across the normal keeps its index times sine.
    np.testing.assert_allclose(np.cross(before, normal), 1.376 * np.cross(after, normal), atol=1e-8)
    assert float(np.linalg.norm(after)) == pytest.approx(1.0, abs=1e-12)


@given(eye=EYES, x=HEIGHTS, y=HEIGHTS, lean=SLOPES_DEG, tilt=TILTS_DEG)
def test_a_ray_sent_back_returns_where_it_came_from(
    eye: PseudophakicEye, x: float, y: float, lean: float, tilt: float
) -> None:
    lens = lens_tilted(eye.lens_front, eye.lens_back, tilt, -tilt)
    surfaces = (eye.cornea_front, eye.cornea_back._replace(decentre_x_mm=0.2), *lens)
    start = starting(x, y, lean)
    end = trace(start, surfaces, 1.0)
    at_mm = 30.0
    back, index = mirrored(surfaces, 1.0, at_mm)
    returning = Rays(end.x_mm, end.y_mm, at_mm - end.z_mm, -end.cosine_x, -end.cosine_y, end.cosine_z, 0.0)
    screen = Surface(at_mm + 2.0, math.inf, 1.0)
    home = trace(returning, [*back, screen], index)
    assert float(home.x_mm) == pytest.approx(x, abs=SAME_MM)
    assert float(home.y_mm) == pytest.approx(y, abs=SAME_MM)
    assert float(home.path_mm) == pytest.approx(float(end.path_mm), abs=SAME_MM)


@given(eye=EYES, turn=st.floats(0.0, 360.0), x=HEIGHTS, y=HEIGHTS, tilt=st.floats(-5.0, 5.0))
def test_an_eye_turned_about_its_axis_turns_its_rays(
    eye: PseudophakicEye, turn: float, x: float, y: float, tilt: float
) -> None:
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    lean = math.degrees(math.atan(math.tan(math.radians(tilt)) * cos))
    lean_y = math.degrees(math.atan(math.tan(math.radians(tilt)) * sin))
    toric = eye.cornea_front._replace(other_radius_mm=eye.cornea_front.radius_mm - 0.3)
    plain = [toric, eye.lens_front._replace(decentre_x_mm=0.3, tilt_x_deg=tilt)]
    turned = [
        toric._replace(meridian_deg=turn),
        eye.lens_front._replace(
            decentre_x_mm=0.3 * cos, decentre_y_mm=0.3 * sin, tilt_x_deg=lean, tilt_y_deg=lean_y
        ),
    ]
    end = trace(starting(x, y), plain, 1.0)
    end_turned = trace(starting(cos * x - sin * y, sin * x + cos * y), turned, 1.0)
    expected_x = cos * float(end.x_mm) - sin * float(end.y_mm)
    assert float(end_turned.x_mm) == pytest.approx(expected_x, abs=SAME_MM)
    assert float(end_turned.path_mm) == pytest.approx(float(end.path_mm), abs=SAME_MM)


@given(tilt=TILTS_DEG, off=st.floats(-0.8, 0.8), y=HEIGHTS)
def test_tilt_and_decentration_to_the_other_side_give_the_mirror_image(
    tilt: float, off: float, y: float
) -> None:
    def end(sign: float) -> Rays:
        lens = Surface(4.5, 12.0, 1.46, decentre_y_mm=sign * off, tilt_y_deg=sign * tilt)
        return trace(starting(0.3, sign * y), [Surface(0.0, 7.7, 1.336), lens], 1.0)

    there, mirror = numbers(end(1.0)), numbers(end(-1.0))
    np.testing.assert_allclose(there, mirror * np.array([1, -1, 1, 1, -1, 1, 1]), atol=SAME_MM)


@given(radius=st.floats(6.0, 12.0), lean=TILTS_DEG, x=HEIGHTS, y=HEIGHTS)
def test_a_sphere_turned_about_its_centre_is_the_same_sphere(
    radius: float, lean: float, x: float, y: float
) -> None:
    ax, ay, az = axis_of(lean, 0.5 * lean)
    turned = Surface(
        radius - radius * az,
        radius,
        1.376,
        decentre_x_mm=-radius * ax,
        decentre_y_mm=-radius * ay,
        tilt_x_deg=lean,
        tilt_y_deg=0.5 * lean,
    )
    ends = [trace(starting(x, y), [surface], 1.0) for surface in (Surface(0.0, radius, 1.376), turned)]
    np.testing.assert_allclose(numbers(ends[0]), numbers(ends[1]), atol=SAME_MM)


@given(eye=EYES)
def test_close_to_the_axis_rays_are_those_of_matrices(eye: PseudophakicEye) -> None:
    matrix = system_matrix(eye.surfaces, 1.0)
    height = 1e-4
    end = trace(Rays(height, 0.0, 0.0, 0.0, 0.0, 1.0), eye.surfaces, 1.0)
    slope = eye.lens_back.index_after * end.cosine_x / end.cosine_z
    assert float(end.x_mm) / height == pytest.approx(float(matrix.a), abs=1e-8)
    assert float(slope) / height == pytest.approx(float(matrix.c_per_mm), abs=1e-8)


@pytest.mark.parametrize("field_deg", [0.0, 3.0])
def test_q_of_minus_one_over_n_squared_brings_every_ray_to_one_point(field_deg: float) -> None:
    index = 1.376
    surface = Surface(0.0, 7.7, index, conic=-1.0 / index**2)
    focus = Surface(index * 7.7 / (index - 1.0), math.inf, index)
    heights = np.linspace(-4.0, 4.0, 41)
    ends = trace(Rays(heights, 0.0, -1.0, *axis_of(field_deg, 0.0)), [surface, focus], 1.0)
    spread = float(np.ptp(np.asarray(ends.x_mm)))
    assert (spread < SAME_MM) is (field_deg == 0.0)


@given(tilt_x=TILTS_DEG, tilt_y=TILTS_DEG, meridian=st.floats(0.0, 180.0))
def test_a_tilted_torus_is_the_upright_one_turned_the_shortest_way(
    tilt_x: float, tilt_y: float, meridian: float
) -> None:
    """The quadric against one built with SciPy's rotations."""
    surface = Surface(0.0, 7.7, 1.376, -0.3, 7.2, meridian)
    axis = np.array(axis_of(tilt_x, tilt_y), dtype=float)
    across = np.cross([0.0, 0.0, 1.0], axis)
    size = float(np.linalg.norm(across))
    turn = across / size * math.asin(size) if size > 0.0 else across
    whole = Rotation.from_rotvec(turn) * Rotation.from_euler("z", meridian, degrees=True)
    expected = (
        whole.as_matrix() @ np.diag(np.array(curvatures_per_mm(surface), dtype=float)) @ whole.as_matrix().T
    )
    found = quadric(surface._replace(tilt_x_deg=tilt_x, tilt_y_deg=tilt_y))
    xx, yy, zz, xy, xz, yz = (float(np.asarray(value)) for value in found[6:])
    np.testing.assert_allclose([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]], expected, atol=1e-12)


def test_only_the_sheet_of_the_vertex_counts() -> None:
    """A ray that comes from the side and meets a sphere behind its widest place has missed the surface."""
    direction = (-0.95, 0.0, math.sqrt(1.0 - 0.95**2))
    point = (math.sqrt(15.0), 0.0, 5.0)
    x, y, z = (at - 5.0 * towards for at, towards in zip(point, direction, strict=True))
    start = Rays(x, y, z, *direction)
    for tracer in (trace, ray_trace_compiled.trace):
        end = tracer(start, [Surface(0.0, 4.0, 1.376)], 1.0)
        assert int(np.asarray(end.flags)) == RayFlag.MISSED
        assert math.isnan(float(np.asarray(end.x_mm)))


def test_lost_rays_are_nan_and_say_why() -> None:
    heights = np.array([0.0, 3.0, 9.0])
    out = trace(Rays(heights, 0.0, -1.0, 0.0, 0.0, 1.0), [Surface(0.0, -4.0, 1.0)], 1.9)
    assert [RayFlag(int(bits)) for bits in np.asarray(out.flags)] == [
        RayFlag.NONE,
        RayFlag.TOTAL_REFLECTION,
        RayFlag.MISSED,
    ]
    for field in out[:7]:
        lost = np.isnan(np.broadcast_to(np.asarray(field), heights.shape))
        assert lost.tolist() == [False, True, True]


def test_a_ray_lost_early_keeps_its_first_reason() -> None:
    rays = Rays(9.0, 0.0, -1.0, 0.0, 0.0, 1.0)
    end = trace(rays, [Surface(0.0, 7.7, 1.376), Surface(0.5, 6.4, 1.336)], 1.0)
    assert int(end.flags) == RayFlag.MISSED


def test_a_plane_between_equal_media_changes_nothing_but_the_place() -> None:
    end = trace(starting(1.0, 2.0, 5.0, -3.0), [Surface(3.0, math.inf, 1.336)], 1.336)
    towards = np.array(axis_of(5.0, -3.0), dtype=float)
    np.testing.assert_allclose(np.array(end[3:6], dtype=float), towards, atol=1e-15)
    assert float(end.z_mm) == pytest.approx(3.0, abs=1e-12)
