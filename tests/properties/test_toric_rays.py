"""Rays through a toric lens: laws, and the same from round lenses one meridian at a time."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.science.astigmatism.marking import MARKINGS, rms_deg
from zonule.science.astigmatism.toric_lens import cylinder_at_cornea_dpt
from zonule.science.astigmatism.toric_rays import cylinder_at_cornea_by_rays
from zonule.science.lens_power.ray_traced import RayTracedEye, ray_traced_eye
from zonule.science.lens_power.thin_lens import ThinLensEye

POWERS = st.floats(10.0, 28.0)
CYLINDERS = st.floats(0.5, 6.0)


def eye(length_mm: float = 23.5, chamber_mm: float = 3.1) -> RayTracedEye:
    return ray_traced_eye(length_mm, 43.5, chamber_mm, 4.5, 0.54, 6.4, 0.39)


@given(power=POWERS)
def test_a_lens_without_cylinder_makes_none(power: float) -> None:
    assert cylinder_at_cornea_by_rays(eye(), 0.0, power).magnitude_dpt < 1e-9


@given(power=POWERS, cylinder=CYLINDERS)
def test_the_plus_cylinder_of_the_glasses_lies_across_the_marks(power: float, cylinder: float) -> None:
    made = cylinder_at_cornea_by_rays(eye(), cylinder, power)
    assert float(made.steep_meridian_deg) == pytest.approx(90.0, abs=1e-6)


@given(cylinder=CYLINDERS)
def test_more_cylinder_makes_more_and_a_deeper_lens_less(cylinder: float) -> None:
    here = cylinder_at_cornea_by_rays(eye(), cylinder, 21.0).magnitude_dpt
    assert cylinder_at_cornea_by_rays(eye(), cylinder + 0.25, 21.0).magnitude_dpt > here
    assert cylinder_at_cornea_by_rays(eye(chamber_mm=3.8), cylinder, 21.0).magnitude_dpt < here


@given(cylinder=CYLINDERS)
def test_many_cylinders_at_once_are_those_of_each(cylinder: float) -> None:
    both = cylinder_at_cornea_by_rays(eye(), np.array([cylinder, 1.0]), 21.0)
    alone = cylinder_at_cornea_by_rays(eye(), cylinder, 21.0)
    assert np.asarray(both.magnitude_dpt)[0] == pytest.approx(float(alone.magnitude_dpt), abs=1e-9)


@given(length=st.floats(22.0, 26.0), power=st.floats(14.0, 26.0), cylinder=st.floats(0.5, 3.0))
def test_it_stays_within_a_tenth_of_meridional_analysis_at_the_same_place(
    length: float, power: float, cylinder: float
) -> None:
    traced = eye(length)
    thin = ThinLensEye(43.5, length, float(traced.lens_centre_mm), 0)
    by_rays = float(cylinder_at_cornea_by_rays(traced, cylinder, power).magnitude_dpt)
    assert by_rays == pytest.approx(float(cylinder_at_cornea_dpt(thin, cylinder, power)), rel=0.10)


@given(first=st.floats(0.0, 10.0), second=st.floats(0.0, 10.0))
def test_a_root_mean_square_is_no_less_than_either_part(first: float, second: float) -> None:
    assert rms_deg(first, second) >= max(first, second) - 1e-12
    assert rms_deg(first, 0.0) == pytest.approx(first)


def test_the_mean_size_and_its_spread_give_the_scatter_that_a_normal_law_has() -> None:
    """A normal law of SD 5 has a mean size of 3.99 and a spread of size of 3.01: textbook half-normal."""
    mean = 5.0 * math.sqrt(2.0 / math.pi)
    assert rms_deg(mean, 5.0 * math.sqrt(1.0 - 2.0 / math.pi)) == pytest.approx(5.0)


def test_every_way_of_marking_errs_by_less_than_a_clock_hour_and_more_than_a_degree() -> None:
    assert all(1.0 < one.sd_deg < 15.0 for one in MARKINGS.values())
    assert [key for key, one in MARKINGS.items() if not one.removes_torsion] == ["lying"]
