"""Draw docs/pictures/ray-traced-eye.svg to scale: the surfaces of the average eye and rays through its pupil.

.venv/bin/python tools/draw_ray_traced_eye.py
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from zonule.drawings.ink import PAPER
from zonule.drawings.svg import Element, Stroke, circle, picture, polyline, rectangle, text
from zonule.science.lens_power.ray_traced import lens_power_dpt, ray_traced_eye, with_lens
from zonule.science.optics.pseudophakic_eye import PseudophakicEye
from zonule.science.optics.ray_trace import Rays, trace
from zonule.science.optics.surfaces import Surface

OUT = Path(__file__).parent.parent / "docs" / "pictures" / "ray-traced-eye.svg"
MEASURED = (23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
PX_PER_MM = 24.0
LEFT_MM, HALF_HEIGHT_MM, RIGHT_MM = -6.0, 6.6, 25.5
TITLE = "The ray-traced eye, to scale"
SAYS = (
    "Side view of an eye with a lens implant: both surfaces of the cornea, a biconvex lens, the retina, and "
    "nine rays of parallel light that the eye brings together near the fovea."
)


def drawing() -> str:
    """The picture as SVG."""
    measured = ray_traced_eye(*MEASURED)
    eye = with_lens(measured, lens_power_dpt(measured, 0.0))
    size = ((RIGHT_MM - LEFT_MM) * PX_PER_MM, 2.0 * HALF_HEIGHT_MM * PX_PER_MM)
    content = [rectangle((0.0, 0.0), size, fill=PAPER.paper), *_rays(eye), *_outlines(eye), *_names(eye)]
    return picture("eye-by-rays", (0.0, 0.0, *size), content, title=TITLE, description=SAYS).svg + "\n"


def _at(z_mm: float, height_mm: float) -> tuple[float, float]:
    return (z_mm - LEFT_MM) * PX_PER_MM, (HALF_HEIGHT_MM - height_mm) * PX_PER_MM


def _profile(surface: Surface, half_mm: float) -> list[tuple[float, float]]:
    """Points of a surface, found by rays parallel to the axis."""
    heights = np.linspace(-half_mm, half_mm, 41)
    met = trace(Rays(heights, 0.0, -1.0, 0.0, 0.0, 1.0), [surface], surface.index_after)
    return [_at(float(z), float(height)) for z, height in zip(np.asarray(met.z_mm), heights, strict=True)]


def _outlines(eye: PseudophakicEye) -> Iterator[Element]:
    strong = Stroke(PAPER.ink, 1.6)
    yield polyline(_profile(eye.cornea_front, 5.6), strong)
    yield polyline(_profile(eye.cornea_back, 5.4), strong)
    rims = [_profile(surface, 3.0) for surface in (eye.lens_front, eye.lens_back)]
    yield polyline([*rims[0], *rims[1][::-1], rims[0][0]], strong)
    angles = np.radians(np.linspace(-58.0, 58.0, 61))
    centre, radius = float(eye.axial_length_mm) - 12.0, 12.0
    wall = [(centre + radius * float(np.cos(a)), radius * float(np.sin(a))) for a in angles]
    yield polyline([_at(z, height) for z, height in wall if abs(height) < HALF_HEIGHT_MM], strong)


def _rays(eye: PseudophakicEye) -> Iterator[Element]:
    thin = Stroke(PAPER.accent, 0.9)
    retina = Surface(eye.axial_length_mm, np.inf, eye.lens_back.index_after)
    for height in np.linspace(-1.5, 1.5, 9):
        points, ray, index = [_at(LEFT_MM, float(height))], Rays(float(height), 0.0, -1.0, 0.0, 0.0, 1.0), 1.0
        for surface in (*eye.surfaces, retina):
            ray = trace(ray, [surface], index)
            index = float(surface.index_after)
            points.append(_at(float(ray.z_mm), float(ray.x_mm)))
        yield polyline(points, thin)


def _names(eye: PseudophakicEye) -> Iterator[Element]:
    front_mm, length_mm = float(eye.lens_front.vertex_mm), float(eye.axial_length_mm)
    for z_mm, height_mm, name in (
        (-1.2, 6.0, "cornea, two conics"),
        (front_mm - 0.6, -4.0, "lens: radii, thickness, index"),
        (length_mm - 3.2, -0.9, "fovea"),
    ):
        yield text(_at(z_mm, height_mm), name, size=13.0, fill=PAPER.ink)
    yield circle(_at(length_mm, 0.0), 3.0, fill=PAPER.ink)
    yield polyline([_at(0.0, -5.9), _at(5.0, -5.9)], Stroke(PAPER.ink, 1.6))
    yield text(_at(5.3, -6.1), "5 mm", size=13.0, fill=PAPER.ink)


if __name__ == "__main__":
    OUT.write_text(drawing(), encoding="utf-8")
