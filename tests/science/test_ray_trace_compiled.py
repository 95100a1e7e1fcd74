"""Compiled rays must say what plain NumPy says, lost rays included."""

import math
import subprocess
import sys

import numpy as np
import pytest

from zonule.science.lens_power import ray_traced
from zonule.science.optics import pseudophakic_eye, ray_trace, ray_trace_compiled
from zonule.science.optics.best_glasses import USUAL_PUPIL, Pupil, pupil_grid
from zonule.science.optics.lens_design import shape_for_power
from zonule.science.optics.pseudophakic_eye import PseudophakicEye
from zonule.science.optics.ray_kernels import BLOCK
from zonule.science.optics.ray_trace import RayFlag, Rays
from zonule.science.optics.surfaces import Surface

IDENTICAL_MM = 1e-9
CONICS = [
    Surface(0.0, 7.72, 1.3777, -0.26),
    Surface(0.55, 6.5, 1.3391),
    Surface(3.6, 10.2, 1.4222, -3.1316),
    Surface(7.6, -6.0, 1.3377, -1.0),
    Surface(23.92, math.inf, 1.3377),
]
LEANING = [
    CONICS[0]._replace(other_radius_mm=7.4, meridian_deg=30.0, tilt_x_deg=2.0),
    CONICS[1]._replace(decentre_x_mm=0.1, tilt_y_deg=-3.0),
    CONICS[2]._replace(tilt_x_deg=5.0, decentre_y_mm=0.3),
    CONICS[3]._replace(other_radius_mm=-6.3, meridian_deg=110.0),
    CONICS[4],
]


def spread_rays(count: int, width_mm: float) -> Rays:
    rng = np.random.default_rng(11)
    x, y = rng.uniform(-width_mm, width_mm, (2, count))
    slope_x, slope_y = rng.uniform(-0.08, 0.08, (2, count))
    along = 1.0 / np.sqrt(1.0 + slope_x**2 + slope_y**2)
    return Rays(x, y, -1.0, slope_x * along, slope_y * along, along, 0.25)


def many_eyes(count: int) -> PseudophakicEye:
    rng = np.random.default_rng(12)
    return pseudophakic_eye.pseudophakic_eye(
        rng.uniform(7.2, 8.4, count),
        rng.uniform(5.8, 7.0, count),
        rng.uniform(0.45, 0.62, count),
        shape_for_power(rng.uniform(10.0, 30.0, count)),
        rng.uniform(4.3, 5.7, count),
        rng.uniform(21.0, 27.0, count),
    )


def assert_same(one: object, other: object, within: float) -> None:
    for ours, theirs in zip(one, other, strict=True):  # type: ignore[call-overload]
        np.testing.assert_allclose(ours, np.broadcast_to(theirs, np.shape(ours)), rtol=0, atol=within)


@pytest.mark.parametrize("surfaces", [CONICS, LEANING], ids=["centred conics", "toric, tilted, decentred"])
@pytest.mark.parametrize("count", [1, 7, BLOCK, 3 * BLOCK + 5])
def test_compiled_rays_end_where_plain_rays_end(surfaces: list[Surface], count: int) -> None:
    rays = spread_rays(count, 2.5)
    plain = ray_trace.trace(rays, surfaces, 1.0)
    assert not np.any(plain.flags)
    assert_same(ray_trace_compiled.trace(rays, surfaces, 1.0), plain, IDENTICAL_MM)


def test_centred_conics_agree_to_the_last_digits() -> None:
    rays = spread_rays(5000, 2.5)
    assert_same(ray_trace_compiled.trace(rays, CONICS, 1.0), ray_trace.trace(rays, CONICS, 1.0), 1e-13)


def test_lost_rays_are_lost_for_the_same_reason() -> None:
    rays = spread_rays(4000, 9.0)
    surfaces = [*CONICS[:4], Surface(9.0, -3.0, 1.0)]
    plain, compiled = ray_trace.trace(rays, surfaces, 1.0), ray_trace_compiled.trace(rays, surfaces, 1.0)
    flags = np.asarray(plain.flags)
    assert set(np.unique(flags)) == {RayFlag.NONE, RayFlag.MISSED, RayFlag.TOTAL_REFLECTION}
    np.testing.assert_array_equal(np.asarray(compiled.flags), flags)
    assert_same(compiled[:7], plain[:7], IDENTICAL_MM)


def test_a_grid_of_rays_keeps_its_shape() -> None:
    x, y = np.meshgrid(np.linspace(-2.0, 2.0, 9), np.linspace(-1.0, 1.0, 5))
    end = ray_trace_compiled.trace(Rays(x, y, -1.0, 0.0, 0.0, 1.0), CONICS, 1.0)
    assert np.shape(end.x_mm) == (5, 9)
    assert_same(end, ray_trace.trace(Rays(x, y, -1.0, 0.0, 0.0, 1.0), CONICS, 1.0), IDENTICAL_MM)


@pytest.mark.parametrize("pupil", [USUAL_PUPIL, Pupil(5.0, 0.05)], ids=["3 mm", "5 mm, weighed"])
@pytest.mark.parametrize("count", [1, 2, 5001])
def test_compiled_eyes_have_the_glasses_of_plain_eyes(count: int, pupil: Pupil) -> None:
    eyes = many_eyes(count)
    assert_same(ray_trace_compiled.refraction(eyes, pupil), pseudophakic_eye.refraction(eyes, pupil), 1e-10)


def test_compiled_eyes_that_are_not_round_have_the_glasses_of_plain_eyes() -> None:
    eyes = many_eyes(300)
    rng = np.random.default_rng(13)
    leaning = eyes._replace(
        cornea_front=eyes.cornea_front._replace(
            other_radius_mm=rng.uniform(7.2, 8.4, 300), meridian_deg=rng.uniform(0.0, 180.0, 300)
        ),
        lens_front=eyes.lens_front._replace(
            tilt_x_deg=rng.uniform(-6.0, 6.0, 300), decentre_y_mm=rng.uniform(-0.5, 0.5, 300)
        ),
    )
    assert_same(ray_trace_compiled.refraction(leaning), pseudophakic_eye.refraction(leaning), 1e-10)


def test_an_eye_that_lets_a_ray_go_astray_is_flagged_alike() -> None:
    eyes = many_eyes(50)
    radius = np.asarray(eyes.cornea_front.radius_mm).copy()
    radius[7] = 1.0
    odd = eyes._replace(cornea_front=eyes.cornea_front._replace(radius_mm=radius))
    plain, compiled = (
        pseudophakic_eye.refraction(odd, Pupil(6.0)),
        ray_trace_compiled.refraction(odd, Pupil(6.0)),
    )
    assert np.flatnonzero(plain.flags).tolist() == [7]
    np.testing.assert_array_equal(np.asarray(compiled.flags), np.asarray(plain.flags))


def test_every_ray_of_a_grid_that_fills_no_whole_lane_counts() -> None:
    eyes, grid = many_eyes(20), pupil_grid(3, 7)
    plain = pseudophakic_eye.moments(eyes, USUAL_PUPIL, grid)
    assert_same(ray_trace_compiled.moments(eyes, USUAL_PUPIL, grid), plain, 1e-12)


def test_the_method_gives_one_answer_however_it_is_computed() -> None:
    measured = (np.linspace(22.0, 26.0, 400), 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
    eye = ray_traced.ray_traced_eye(*measured)
    plain = pseudophakic_eye.refraction(ray_traced.with_lens(eye, 21.0)).spherical_equivalent_dpt
    ray_trace_compiled.refraction(ray_traced.with_lens(eye, 21.0))
    np.testing.assert_allclose(ray_traced.refraction_dpt(eye, 21.0), plain, rtol=0, atol=1e-10)


def test_numba_is_not_loaded_for_one_eye() -> None:
    code = (
        "import sys; from zonule.science.lens_power.ray_traced import *; "
        "lens_power_dpt(ray_traced_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39), 0.0); "
        "assert 'numba' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)  # noqa: S603 - our own words
