"""Exact rays: compiled, against plain NumPy and, where it is installed, a general-purpose ray tracer."""

from __future__ import annotations

import json
import math
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from benchmarks.plain_rays import Array, Row, through_conics, through_tilted_tori
from benchmarks.timing import Benchmark, best_s

from zonule.science.optics import ray_trace_compiled
from zonule.science.optics.best_glasses import USUAL_PUPIL, fitted, pupil_grid, slope_weight
from zonule.science.optics.lens_design import shape_for_power
from zonule.science.optics.pseudophakic_eye import PseudophakicEye, launch_slope, pseudophakic_eye
from zonule.science.optics.ray_trace import Rays
from zonule.science.optics.surfaces import Surface, curvatures_per_mm, mirrored, quadric
from zonule.science.units import SPECTACLE_VERTEX_MM

ROOT = Path(__file__).parent.parent
REFERENCE_PYTHON = ROOT / ".venv-reference" / "bin" / "python"
RAYS, EYES, EYES_OF_PLAIN, PUPIL_RAYS = 100_000, 10_000, 1_000, 64
SURFACES = 4
SAME_MM = 1e-9
ROWS = [
    (0.0, 7.72, -0.26, 1.0, 1.3777),
    (0.55, 6.5, 0.0, 1.3777, 1.3391),
    (3.6, 10.2, -3.1316, 1.3391, 1.4222),
    (7.6, -6.0, -1.0, 1.4222, 1.3377),
    (23.9203, math.inf, 0.0, 1.3377, 1.3377),
]
"""Navarro's eye at 543 nm and its retina: vertex, radius, Q, index before and after."""

LIMIT = (
    "two square roots and two divisions a ray and surface: {rate:,.0f} million of these a second, "
    "{share:.0%} of what this machine does of roots and divisions alone"
)


def benchmarks() -> Iterator[Benchmark]:
    """The four comparisons, in one run."""
    roots_per_s = _roots_and_divisions_per_s()
    yield from _one_eye(roots_per_s)
    yield _many_eyes(roots_per_s)
    yield _draws(roots_per_s)


def _limit(done_per_s: float, most_per_s: float) -> str:
    return LIMIT.format(rate=done_per_s / 1e6, share=done_per_s / most_per_s)


def _roots_and_divisions_per_s() -> float:
    """How often this machine takes two roots and two quotients that wait for nothing, on all cores."""
    import numba

    @numba.njit(nogil=True, error_model="numpy")
    def loop(a, b, c, times):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202 - numba infers the types
        for _ in range(times):
            for i in range(a.size):
                c[i] = math.sqrt(a[i]) + math.sqrt(b[i]) + a[i] / b[i] + b[i] / a[i]

    times = 2_000

    def once(first: int, last: int) -> None:
        a, b, c = np.linspace(1.0, 2.0, 512), np.linspace(2.0, 3.0, 512), np.empty(512)
        loop(a, b, c, last - first)

    ray_trace_compiled._on_all_cores(2, 1, once)  # noqa: SLF001 - the same threads as the trace
    seconds = best_s(lambda: ray_trace_compiled._on_all_cores(times, times, once), 20)  # noqa: SLF001 - as above
    return times * 512 / seconds


def _one_eye(roots_per_s: float) -> Iterator[Benchmark]:
    rng = np.random.default_rng(1)
    starts = rng.uniform(-2.0, 2.0, (2, RAYS))
    rays = Rays(starts[0], starts[1], -1.0, 0.0, 0.0, 1.0)
    surfaces = [Surface(vertex, radius, after, conic) for vertex, radius, conic, _, after in ROWS]
    start = time.perf_counter()
    ours = ray_trace_compiled.trace(rays, surfaces, 1.0)
    compile_s = time.perf_counter() - start
    ones = np.ones(RAYS)
    plain_rays = np.stack([*starts, -ones, 0.0 * ones, 0.0 * ones, ones])
    _same(np.stack(ours[:7]), through_conics(plain_rays, ROWS))
    ours_s = best_s(lambda: ray_trace_compiled.trace(rays, surfaces, 1.0), 200)
    limit = f"{_limit(len(ROWS) * RAYS / ours_s, roots_per_s)}; compiling took {compile_s:.1f} s, not counted"
    yield Benchmark(
        name=f"conic trace, {RAYS:,} rays through 5 surfaces, against plain NumPy",
        ours_s=ours_s,
        theirs="the same rays in vectorised NumPy",
        theirs_s=best_s(lambda: through_conics(plain_rays, ROWS), 30),
        goal_ratio=15.0,
        limit=limit,
    )
    if not REFERENCE_PYTHON.exists():
        print("The general-purpose ray tracer is not installed (make reference); its row is left out.\n")
        return
    seconds, version, found = _by_optiland(starts)
    _same(np.stack([ours.y_mm, ours.path_mm]), found)
    yield Benchmark(
        name=f"conic trace, {RAYS:,} rays through 5 surfaces, against a general-purpose ray tracer",
        ours_s=ours_s,
        theirs=f"optiland {version}, NumPy backend, in its own process",
        theirs_s=seconds,
        goal_ratio=15.0,
        limit=limit,
    )


def _by_optiland(starts: Array) -> tuple[float, str, Array]:
    with tempfile.TemporaryDirectory() as folder:
        given, found = Path(folder) / "starts.npy", Path(folder) / "ends.npy"
        np.save(given, starts)
        script = ROOT / "benchmarks" / "rays_by_optiland.py"
        command = [str(REFERENCE_PYTHON), "-W", "ignore", str(script), str(given), str(found)]
        run = subprocess.run(command, check=True, capture_output=True, text=True)  # noqa: S603 - our own words
        said = json.loads(run.stdout.splitlines()[-1])
        return float(said["seconds"]), str(said["version"]), np.load(found)


def _same(ours: Array, theirs: Array) -> None:
    apart = float(np.max(np.abs(ours - theirs)))
    if not apart < SAME_MM:
        raise RuntimeError(f"Two ways to trace the same rays end {apart} mm apart.")


def _eyes(count: int) -> PseudophakicEye:
    rng = np.random.default_rng(2)
    return pseudophakic_eye(
        rng.normal(7.75, 0.05, count),
        rng.normal(6.4, 0.05, count),
        rng.normal(0.54, 0.01, count),
        shape_for_power(21.0),
        rng.normal(4.9, 0.1, count),
        rng.normal(23.5, 0.1, count),
    )


def _leaning_eyes(count: int) -> PseudophakicEye:
    """Every surface toric, tilted and decentred, each eye with numbers of its own."""
    rng, eye = np.random.default_rng(3), _eyes(count)

    def leaning(surface: Surface) -> Surface:
        tilts, places = rng.uniform(-4.0, 4.0, (2, count)), rng.uniform(-0.3, 0.3, (2, count))
        other = surface.radius_mm * rng.uniform(0.95, 1.05, count)
        return Surface(
            surface.vertex_mm,
            surface.radius_mm,
            surface.index_after,
            surface.conic,
            other,
            0.0,
            *places,
            *tilts,
        )

    front, back, lens_front, lens_back = (leaning(surface) for surface in eye.surfaces)
    return PseudophakicEye(front, back, lens_front, lens_back, eye.axial_length_mm)


def _many_eyes(roots_per_s: float) -> Benchmark:
    grid = pupil_grid(4, PUPIL_RAYS // 4)
    many, few = _leaning_eyes(EYES), _leaning_eyes(EYES_OF_PLAIN)
    ray_trace_compiled.moments(few, USUAL_PUPIL, grid)
    ours_s = best_s(lambda: ray_trace_compiled.moments(many, USUAL_PUPIL, grid), 60)
    rays, rows = _as_plain(few)
    x, _, z, cosine_x, _, cosine_z, _ = through_tilted_tori(rays, rows)
    glasses_mm = (np.asarray(few.axial_length_mm) + SPECTACLE_VERTEX_MM)[:, np.newaxis]
    in_glasses_mm = x + (glasses_mm - z) * cosine_x / cosine_z
    weight = grid.weight * slope_weight(grid.x_share**2 + grid.y_share**2, 0.0)
    sums = ray_trace_compiled.moments(few, USUAL_PUPIL, grid)
    _same(np.asarray(sums.x_mm), np.sum(weight * in_glasses_mm, axis=1))
    scale = EYES / EYES_OF_PLAIN
    ray_surfaces = SURFACES * PUPIL_RAYS * EYES
    return Benchmark(
        name=f"{EYES:,} eyes of their own, toric, tilted and decentred, {PUPIL_RAYS} rays each",
        ours_s=ours_s,
        theirs=f"the same surfaces in vectorised NumPy, measured on {EYES_OF_PLAIN:,} eyes, scaled up",
        theirs_s=scale * best_s(lambda: through_tilted_tori(rays, rows), 10),
        goal_ratio=15.0,
        limit=_limit(ray_surfaces / ours_s, roots_per_s),
    )


def _as_plain(eye: PseudophakicEye) -> tuple[Array, list[Row]]:
    """The rays of the pupil and the surfaces, out of the eye, as the plain way wants them."""
    grid = pupil_grid(4, PUPIL_RAYS // 4)
    slope = np.asarray(launch_slope(eye, USUAL_PUPIL))[:, np.newaxis]
    slope_x, slope_y = slope * grid.x_share, slope * grid.y_share
    along = 1.0 / np.sqrt(1.0 + slope_x * slope_x + slope_y * slope_y)
    nothing = np.zeros_like(along)
    rays = np.stack([nothing, nothing, nothing, slope_x * along, slope_y * along, along])
    way_out, index = mirrored(eye.surfaces, 1.0, eye.axial_length_mm)
    rows = []
    for surface in way_out:
        met = quadric(surface)
        axis = np.stack([met.axis_x, met.axis_y, met.axis_z])
        across = np.stack(
            [1.0 - axis[0] ** 2 / (1.0 + axis[2]), -axis[0] * axis[1] / (1.0 + axis[2]), -axis[0]]
        )
        into = np.stack([across, np.cross(axis, across, axis=0), axis])
        vertex = np.stack(
            np.broadcast_arrays(surface.decentre_x_mm, surface.decentre_y_mm, surface.vertex_mm)
        )
        curvature = np.stack(np.broadcast_arrays(*curvatures_per_mm(surface)))
        rows.append(Row(vertex, curvature, into, float(index), float(surface.index_after)))
        index = surface.index_after
    return rays, rows


def _draws(roots_per_s: float) -> Benchmark:
    eyes, grid = _eyes(EYES), pupil_grid(4, PUPIL_RAYS // 4)
    ours_s = best_s(lambda: fitted(ray_trace_compiled.moments(eyes, USUAL_PUPIL, grid)), 100)
    return Benchmark(
        name=f"one lens in {EYES:,} draws of an eye, {PUPIL_RAYS} rays each, down to the refraction",
        ours_s=ours_s,
        goal_s=0.010,
        limit=_limit(SURFACES * PUPIL_RAYS * EYES / ours_s, roots_per_s),
    )
